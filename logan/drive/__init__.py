"""Channels in, drive states out."""
