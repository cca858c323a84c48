"""Serving the pages: one small server, no code shown, no files, no execute request."""
