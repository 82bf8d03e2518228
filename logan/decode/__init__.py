"""Frames and messages in, channels and vehicle data out."""
