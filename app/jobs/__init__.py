"""Long work beside the pages: kept in a queue, done by a process of its own, watched and stopped from a page.

`jobs.Jobs` is what a page holds; `work.work_on` is what the process does. Neither knows what the work is about.
"""
