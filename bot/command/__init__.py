"""The program's commands that need no conversation: each is a function `main(argv) -> int`."""
