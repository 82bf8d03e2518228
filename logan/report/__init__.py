"""A record and its finding in, HTML, JSON and terminal text out."""
