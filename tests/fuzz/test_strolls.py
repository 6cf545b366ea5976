"""Walks through every conversation in every language keep to what every message keeps to."""

import pytest

from bot.talk.commands import FLOW_OF
from bot.talk.words import languages
from tests.fuzz.manners import Manners
from tests.fuzz.plain_words import Question, stuck
from tests.fuzz.strolls import stroll
from tests.talk.world import World


@pytest.mark.parametrize("language", languages())
def test_walks_say_nothing_wrong_ask_one_thing_at_a_time_and_leave_nobody_stuck(language: str) -> None:
    tried: set[Question] = set()
    walks = [stroll(language, seed, tried) for seed in range(8)]
    assert [fault for walk in walks for fault in walk.faults] == []
    assert sum(walk.messages for walk in walks) > 150


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("flow", sorted(FLOW_OF))
def test_every_conversation_begins_with_good_manners(language: str, flow: str) -> None:
    with World(language=language) as world:
        ada = world.owner("Ada", person={"language": language})
        ada.says(f"/{flow}")
        manners = Manners(language)
        assert [fault for message in ada.new for fault in manners.faults(message, "")] == []
        assert stuck(world, ada, language, set()) == []
