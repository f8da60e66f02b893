"""Lays out messages. Takes diagnostics and returns text; the wording is decided elsewhere."""
