from collections.abc import Iterator

import pytest

from tests.talk.crew import Crew
from tests.talk.groups import Cast
from tests.talk.world import World


@pytest.fixture
def world() -> Iterator[World]:
    with World() as house:
        yield house


@pytest.fixture
def crew(world: World) -> Crew:
    return Crew.of(world)


@pytest.fixture
def cast(world: World) -> Cast:
    return Cast.of(world)
