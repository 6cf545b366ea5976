"""When things fall due, computed from the journal; nothing here is kept beside it."""
