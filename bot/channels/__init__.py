"""The edges: each channel turns its own events into ours and our messages into its own."""
