"""A record in, measures out: each with its interval, or the reason why there is none."""
