"""Fuzzing of every reader and decoder: seeds, mutation, what is called with them, and what counts as a failure."""
