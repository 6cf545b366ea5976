"""The word tables, one TOML file per subject and language; people edit these, not the code."""

import tomllib
from functools import cache
from importlib import resources
from typing import Any


@cache
def table(name: str) -> dict[str, Any]:
    """The table `name`, as `tomllib` reads it."""
    return tomllib.loads(resources.files(__name__).joinpath(f"{name}.toml").read_text(encoding="utf-8"))
