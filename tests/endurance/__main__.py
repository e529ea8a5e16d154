"""Run them at full size and write down what came out: `python -m tests.endurance [kills] [pages]`."""

import json
import sys

from tests.endurance.kills import survive
from tests.endurance.pages import hang
from tests.endurance.results import keep

RUNS = {"kills": lambda: survive(50), "pages": lambda: hang(200)}

if __name__ == "__main__":
    for name in sys.argv[1:] or RUNS:
        figures = RUNS[name]()
        keep(name, dict(figures))
        print(name, json.dumps(figures))
