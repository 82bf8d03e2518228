"""Reads captures of electronically timed engines and says what they prove."""

__version__ = "0.1.0"
