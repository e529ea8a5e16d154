"""Small tables in, verdict out: stories about the invented Thornbeck Fold, told through `assess` alone."""
