"""An assessment as a chart: one description, and its drawing."""
