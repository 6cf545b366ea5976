"""What moves: the engine (inbox to outcome), the post (outbox to channel), the ticker (what is due)."""
