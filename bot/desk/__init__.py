"""The dealer's work on many owners at once."""
