"""Facts in, English out: the only place with sentences. One module a room or a noun; each has `WORDS`, by reason."""
