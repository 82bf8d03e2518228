"""Decoded signals in, one set of named and checked channels out."""
