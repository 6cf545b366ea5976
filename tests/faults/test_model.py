"""Whatever owners, staff, clock, channel and process do, and in whatever order, the promises hold."""

from tests.faults.model import live


def test_no_order_of_things_breaks_a_promise() -> None:
    live(lives=12, steps=20, same=True)
