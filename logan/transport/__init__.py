"""Frames in, messages out: passive reassembly of what testers and control modules said."""
