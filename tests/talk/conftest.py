from collections.abc import Iterator

import pytest

from tests.talk.world import World


@pytest.fixture
def world() -> Iterator[World]:
    with World() as house:
        yield house
