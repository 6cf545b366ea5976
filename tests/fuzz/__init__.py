"""Random and adversarial messages through the real engine, by the thousand: `python -m tests.fuzz --texts 100000`."""
