"""Brimful: the chat bot that carries a hot tub's owner from first fill through every season of water care."""
