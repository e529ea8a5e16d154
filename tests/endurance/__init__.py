"""Long runs: what holds for an hour of use and fifty power cuts. Small sizes of them are among the ordinary tests."""
