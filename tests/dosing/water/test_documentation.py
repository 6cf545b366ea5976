"""The examples of the documentation are run, and every public function of the water has one."""

import doctest
import importlib

import pytest

import dosing

MODULES = ["active", "activity", "arrays", "carbonate", "changes", "chlorine", "equilibria", "langelier", "massaction",
           "solver", "substances", "totals", "water", "weakacids"]  # fmt: skip
PUBLIC = ["active_chlorine", "add", "equilibrate", "from_carbon", "heat", "langelier", "mix", "speciate", "spend"]


@pytest.mark.parametrize("name", MODULES)
def test_examples_give_what_they_say(name: str) -> None:
    result = doctest.testmod(importlib.import_module(f"dosing.{name}"))
    assert result.failed == 0


@pytest.mark.parametrize("name", PUBLIC)
def test_every_public_function_of_the_water_has_an_example(name: str) -> None:
    assert name in dosing.__all__
    assert ">>>" in getattr(dosing, name).__doc__
