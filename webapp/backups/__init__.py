"""Backups: a directory of them, made while the server runs, restored into an empty place; and the check of the records."""
