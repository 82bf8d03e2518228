"""Readers: a file in, its content as columns out."""
