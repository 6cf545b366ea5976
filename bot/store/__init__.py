"""Where everything is kept: one contract, and an engine beside it for each kind of database."""
