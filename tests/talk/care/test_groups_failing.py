"""What becomes of cases when their group fails: topics that vanish, a bot that is thrown out, a group that moves."""

import pytest

from bot.model.event import Blocked, GroupMoved
from bot.model.fact import CaseTaken
from bot.model.group import Place
from tests.talk.groups import CREW, QUESTION, Cast, asks, topics
from tests.talk.world import texts


def test_a_deleted_topic_is_opened_anew_with_the_card(cast: Cast) -> None:
    case = asks(cast)
    cast.voice(cast.tom).taps("Take it")
    phone = cast.world.phones[CREW]
    phone.topics.clear()
    said = len(cast.group)
    cast.ada.says("are you there?")
    assert topics(cast) == [case]
    after = texts(cast.group[said:])
    assert "are you there?" in after
    assert QUESTION in after
    assert "Tom has Ada's case" in after
    cast.voice(cast.tom).says("Yes.")
    assert "Yes." in cast.ada.text


def test_without_topics_cases_come_one_below_the_other_and_the_dealer_is_told_once(cast: Cast) -> None:
    cast.world.phones[CREW].has_topics = False
    asks(cast)
    cast.voice(cast.tom).taps("Take it")
    cast.voice(cast.tom).says("An old cover leaks heat.")
    assert "An old cover leaks heat." in cast.ada.text
    cast.ada.says("thanks")
    assert "thanks" in cast.group[-1].text
    assert texts(cast.dee.messages).count("Topics are off") == 1


def test_a_bot_that_is_thrown_out_takes_its_cases_to_private_chats_with_what_was_not_answered(cast: Cast) -> None:
    first = asks(cast)
    cast.voice(cast.tom).taps("Take it").says("Which cover?")
    cast.ada.says("the brown one")
    asks(cast, cast.bo, "Which cover fits?")
    cast.world.phones[CREW].blocked = True
    cast.una.at(CREW).does(Blocked())
    assert "can't write in the group Crew" in cast.dee.text
    alone = texts(cast.tom.messages)
    assert first in alone
    assert "the brown one" in alone
    assert "Which cover fits?" in alone
    cast.ada.says("hello?")
    assert "hello?" in cast.tom.text
    cast.tom.says("Here I am.")
    assert "Here I am." in cast.ada.text


def test_a_group_that_refuses_a_message_does_the_same_and_once(cast: Cast) -> None:
    asks(cast)
    cast.voice(cast.tom).taps("Take it")
    cast.world.phones[CREW].blocked = True
    cast.ada.says("are you there?")
    assert "are you there?" in cast.tom.text
    told = len(cast.dee.messages)
    assert told == 1
    cast.una.at(CREW).does(Blocked())
    assert len(cast.dee.messages) == told


def test_after_it_was_let_in_again_the_group_has_the_cases_again(cast: Cast) -> None:
    asks(cast)
    phone = cast.world.phones[CREW]
    phone.blocked = True
    cast.una.at(CREW).does(Blocked())
    phone.blocked = False
    cast.una.at(CREW).names_it()
    assert QUESTION in cast.group[-1].text
    cast.voice(cast.una).taps("Take it")
    assert cast.world.facts("taken")[-1] == CaseTaken(case=cast.case, by="p-una", in_group=True)


@pytest.mark.parametrize("order", [(False, True), (True, False)])
def test_a_group_that_moves_is_followed_and_its_cases_are_shown_once(cast: Cast, order: tuple[bool, bool]) -> None:
    case = asks(cast)
    cast.voice(cast.tom).taps("Take it")
    for arrived in order:
        cast.world.arrives(CREW, GroupMoved(to="Crew2", arrived=arrived), Place())
    cast.ada.says("are you there?")
    new = cast.world.phones["Crew2"]
    assert list(new.topics.values()) == [case]
    assert "are you there?" in texts(new.messages)
    assert texts(new.messages).count(QUESTION) == 1
    cast.world.arrives("Other", GroupMoved(to="Crew3", arrived=True), Place())
    assert "Crew3" not in cast.world.phones
    cast.tom.at("Crew2", case).says("Yes.")
    assert "Yes." in cast.ada.text


def test_with_an_owner_s_data_their_topics_go_and_no_others(cast: Cast) -> None:
    asks(cast)
    other = asks(cast, cast.bo, "Which cover fits?")
    phone = cast.world.phones[CREW]
    cast.ada.says("delete my data")
    cast.ada.taps(cast.ada.buttons[0])
    assert cast.ada.known.person is None
    assert topics(cast) == [other]
    assert "everything about them deleted" in phone.messages[-1].text
    assert "Ada" not in phone.messages[-1].text
