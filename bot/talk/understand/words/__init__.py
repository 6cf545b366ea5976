"""The word tables, one TOML file per subject and language; people edit these, not the code."""

import tomllib
from functools import cache
from importlib import resources
from typing import Any


@cache
def table(name: str) -> dict[str, Any]:
    """The table `name`, as `tomllib` reads it."""
    return tomllib.loads(resources.files(__name__).joinpath(f"{name}.toml").read_text(encoding="utf-8"))


def merged(*tables: dict[str, list[str]]) -> dict[str, list[str]]:
    """One label-to-terms table out of several."""
    labels: dict[str, list[str]] = {}
    for each in tables:
        for label, terms in each.items():
            labels.setdefault(label, []).extend(terms)
    return labels
