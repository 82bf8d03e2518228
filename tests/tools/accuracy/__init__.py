"""How right the measures are: seeded cases with a known truth, and what the runner makes of them."""
