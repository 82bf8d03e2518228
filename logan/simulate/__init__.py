"""An engine with known truth: the independent witness of the measures."""
