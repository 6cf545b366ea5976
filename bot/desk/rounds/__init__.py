"""Rounds: one message to many owners. Whom it is for, its words and manners, and what is told of its progress."""
