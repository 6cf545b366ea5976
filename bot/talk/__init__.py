"""The conversations. Pure: an event and what is known go in; facts, messages and due rows come out."""
