"""Measures, codes and circumstances in, ranked faults out."""
