"""A second, slow and literal reading of the computations, sharing no line with the application."""
