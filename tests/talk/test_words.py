"""How values are written in a reader's language."""

import pytest

from bot.talk.words import Words, line, verbatim


def listed(language: str, *names: str) -> str:
    items = tuple(verbatim(name) for name in names)
    return Words(language).text(line("case.why", reasons=items))


@pytest.mark.parametrize(
    ("last", "expected"),
    [("incrementador", "cloro e incrementador"), ("hipoclorito", "cloro e hipoclorito"), ("hierro", "cloro y hierro")],
)
def test_a_spanish_list_says_e_before_an_i(last: str, expected: str) -> None:
    assert listed("es", "cloro", last).endswith(expected)


def test_other_lists_keep_their_y() -> None:
    assert listed("fr", "a y", "ici").endswith("a y et ici")
