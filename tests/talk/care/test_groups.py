"""Cases in a group of the dealer's people: each in a topic of its own, and in private chats where the group fails."""

from dataclasses import dataclass

import pytest

from bot.model.event import Blocked, GroupMoved, Tapped, Unblocked, Wrote
from bot.model.fact import CaseTaken
from bot.model.group import Place
from bot.model.message import Message
from bot.talk.words import languages
from tests.talk.world import Actor, Voice, World, texts

QUESTION = "Can I use an old cover?"
SHOCK = "I got an electric shock in the water"
CREW = "Crew"


@dataclass
class Cast:
    """Everybody who takes part. Dee has had the cases come to the group."""

    world: World
    ada: Actor
    bo: Actor
    tom: Actor
    una: Actor
    dee: Actor

    @property
    def group(self) -> list[Message]:
        return self.world.phones[CREW].messages

    @property
    def case(self) -> str:
        return str(self.world.facts("case")[-1].case)

    def voice(self, actor: Actor) -> Voice:
        """Somebody in the topic of the newest case."""
        return actor.at(CREW, self.case)


@pytest.fixture
def cast(world: World) -> Cast:
    there = Cast(
        world,
        world.owner("Ada"),
        world.owner("Bo"),
        world.staff("Tom Tanner"),
        world.staff("Una"),
        world.staff("Dee", role="dealer"),
    )
    there.dee.at(CREW).names_it()
    return there


def asks(cast: Cast, owner: Actor | None = None, question: str = QUESTION) -> str:
    owner = owner or cast.ada
    owner.says("person")
    owner.says(question)
    return cast.case


def topics(cast: Cast) -> list[str]:
    return list(cast.world.phones[CREW].topics.values())


# -- a group becomes ours


def test_one_of_the_dealer_s_people_has_the_cases_come_to_a_group(cast: Cast) -> None:
    assert "each in a topic" in cast.group[-1].text
    assert cast.group[-1].topic is None


@pytest.mark.parametrize("who", ["owner", "stranger", "nobody", "removed"])
def test_nobody_else_can(world: World, who: str) -> None:
    world.staff("Una")
    people = {
        "owner": lambda: world.owner("Ada"),
        "stranger": lambda: world.stranger("Zed"),
        "nobody": lambda: world.stranger(""),
        "removed": lambda: world.staff("Tom", standing="stopped"),
    }
    person = people[who]()
    person.at(CREW).names_it()
    assert "Only Tidewell Tubs's people" in world.phones[CREW].messages[-1].text
    world.owner("Bo").says(SHOCK)
    assert len(world.phones[CREW].messages) == 1


def test_a_group_named_late_is_shown_every_open_case(world: World) -> None:
    ada, tom, una = world.owner("Ada"), world.staff("Tom"), world.staff("Una")
    ada.says("person").says(QUESTION)
    tom.taps("Take it")
    world.owner("Bo").says(SHOCK)
    una.at(CREW).names_it()
    shown = world.phones[CREW].messages[1:]
    assert ["Bo" in message.text for message in shown] == [True, False]
    assert "Tom has" in shown[1].text
    assert [button.label for row in shown[0].buttons for button in row] == ["Take it", "Clear it"]


@pytest.mark.parametrize(
    ("has_topics", "may_open", "said"),
    [(False, True, "topics are off"), (True, False, "may not open topics"), (False, False, "topics are off")],
)
def test_what_a_group_lacks_is_said_at_once(world: World, has_topics: bool, may_open: bool, said: str) -> None:
    world.staff("Dee", role="dealer").at(CREW).names_it(has_topics=has_topics, may_open=may_open)
    assert said in world.phones[CREW].messages[-1].text


def test_whoever_lets_the_bot_into_a_group_is_told_how_to_go_on_if_they_are_staff(world: World) -> None:
    world.staff("Dee", role="dealer").at(CREW).does(Unblocked())
    world.owner("Ada").at(CREW).does(Unblocked())
    (said,) = world.phones[CREW].messages
    assert "/cases" in said.text


# -- a case in its topic


def test_each_case_has_a_topic_that_begins_with_its_card(cast: Cast) -> None:
    first = asks(cast)
    second = asks(cast, cast.bo, "Which cover fits?")
    assert topics(cast) == [first, second]
    assert [QUESTION in message.text for message in cast.group[1:]] == [True, False]
    assert cast.group[1].topic is not None
    assert cast.group[1].topic.name == f"Ada: {QUESTION}"
    assert cast.tom.messages == cast.una.messages == cast.dee.messages == []


def test_a_danger_goes_to_the_group_and_to_everybody_at_once(cast: Cast) -> None:
    cast.ada.says(SHOCK)
    assert "DANGER" in cast.group[-1].text
    for person in (cast.tom, cast.una, cast.dee):
        assert "DANGER" in person.text
    assert cast.group[-1].topic is not None
    assert cast.group[-1].topic.name.startswith("Ada: electric shock")


def test_a_case_that_nobody_takes_rises_from_the_group_to_the_dealer(cast: Cast) -> None:
    asks(cast)
    cast.world.passes(minutes=31)
    assert "Nobody has taken" in cast.group[-1].text
    assert cast.dee.messages == []
    cast.world.passes(minutes=31)
    assert "Nobody has taken" in cast.group[-1].text
    assert "Nobody has taken" in cast.dee.text
    assert cast.tom.messages == []


def test_owner_and_holder_talk_through_the_topic_across_a_restart(cast: Cast) -> None:
    asks(cast)
    tom = cast.voice(cast.tom).taps("Take it")
    assert "Tom has Ada's case" in texts(tom.new)
    assert "Tom is looking at this" in cast.ada.text
    tom.says("An old cover leaks heat.")
    assert "An old cover leaks heat." in cast.ada.text
    cast.world.restart()
    cast.ada.says("and a new one?")
    assert cast.group[-1].text.endswith("and a new one?")
    assert cast.group[-1].topic is not None
    assert cast.group[-1].topic.case == cast.case
    tom.says("Fits.", edited=True)
    assert "Tom corrects" in cast.ada.text
    cast.ada.says("and an old one", edited=True)
    assert "changed a message" in cast.group[-1].text
    assert cast.tom.messages == []


def test_photos_voice_and_video_go_both_ways(cast: Cast) -> None:
    asks(cast)
    tom = cast.voice(cast.tom).taps("Take it")
    for what in ("photo", "voice", "video", "document"):
        cast.ada.sends(what, caption="look")
        assert cast.group[-1].file is not None
        assert (cast.group[-1].file.what, cast.group[-1].topic.case) == (what, cast.case)  # type: ignore[union-attr]
        tom.sends(what, caption="like this")
        assert cast.ada.last.file is not None
        assert cast.ada.last.file.what == what


def test_a_photo_sent_before_anybody_had_the_case_comes_when_it_is_taken(cast: Cast) -> None:
    asks(cast)
    cast.ada.sends("photo")
    tom = cast.voice(cast.tom).taps("Take it")
    assert [message.file.what for message in tom.new if message.file] == ["photo"]


def test_a_note_and_what_others_say_stay_in_the_topic(cast: Cast) -> None:
    asks(cast)
    tom, una = cast.voice(cast.tom), cast.voice(cast.una)
    before = len(cast.ada.messages)
    assert "nobody has" in una.says("I would say no").new[-1].text
    tom.taps("Take it")
    heard = len(cast.ada.messages)
    assert heard == before + 1
    tom.says("note: calls every week")
    una.says("note: second time")
    assert "Tom has Ada's case" in una.says("I would say no").new[-1].text
    assert len(cast.ada.messages) == heard
    assert [fact.text for fact in cast.world.facts("case_note")] == ["calls every week", "second time"]


def test_of_two_who_tap_take_exactly_one_has_it_and_it_can_be_taken_over(cast: Cast) -> None:
    asks(cast)
    tom, una = cast.voice(cast.tom), cast.voice(cast.una)
    card = cast.group[-1].buttons[0][0].data
    tom.does(Tapped(data=card))
    una.does(Tapped(data=card))
    assert "Tom has Ada's case" in cast.group[-1].text
    assert len(cast.world.facts("taken")) == 1
    una.taps("Take it over")
    assert [fact.by for fact in cast.world.facts("taken")] == ["p-tom tanner", "p-una"]
    una.says("Hello Ada")
    assert "Una" in cast.ada.text
    assert "Una has" in tom.says("me too").new[-1].text


def test_a_case_that_is_given_back_is_offered_in_its_topic_again(cast: Cast) -> None:
    asks(cast)
    tom = cast.voice(cast.tom).taps("Take it")
    tom.taps("Give back")
    assert "Nobody has this case any more" in texts(tom.new)
    assert cast.una.messages == []


def test_closing_asks_why_in_the_topic_tells_the_owner_and_closes_the_topic(cast: Cast) -> None:
    case = asks(cast)
    tom, una = cast.voice(cast.tom), cast.voice(cast.una)
    tom.taps("Take it").taps("Close it")
    una.taps("Solved")  # it is Tom's question
    assert cast.world.facts("cleared") == []
    tom.taps("Solved")
    tom.says("told her on the phone")
    (cleared,) = cast.world.facts("cleared")
    assert (cleared.reason, cleared.note) == ("solved", "told her on the phone")
    assert "Reason: Solved" in cast.group[-1].text
    phone = cast.world.phones[CREW]
    assert phone.thread_of(case) in phone.closed
    assert "closed" in cast.ada.text.lower() or "help" in cast.ada.text.lower()
    tom.says("one more thing")
    assert "closed already" in cast.group[-1].text
    assert phone.thread_of(case) in phone.closed


def test_a_case_that_comes_back_opens_its_topic_again(cast: Cast) -> None:
    case = asks(cast)
    tom = cast.voice(cast.tom).taps("Take it").taps("Close it").taps("Solved").taps("Skip")
    cast.ada.taps("It's back")
    assert "open again" in texts(tom.new) or "It's back" in cast.group[-1].text
    phone = cast.world.phones[CREW]
    assert phone.closed == set()
    assert topics(cast) == [case]


def test_a_red_flag_is_cleared_in_the_topic(cast: Cast) -> None:
    cast.ada.says(SHOCK)
    cast.voice(cast.una).taps("Clear it")
    assert cast.world.phones[CREW].closed == {"1"}
    assert "Una has ended this case" in cast.group[-1].text


def test_the_same_case_may_be_taken_alone_and_then_goes_on_alone(cast: Cast) -> None:
    cast.ada.says(SHOCK)
    cast.tom.taps("Take it")
    assert "Tom has Ada's case" in cast.group[-1].text
    said = len(cast.group)
    cast.ada.says("my hand is numb")
    assert "my hand is numb" in cast.tom.text
    assert len(cast.group) == said


def test_what_its_holder_writes_alone_is_seen_in_the_topic(cast: Cast) -> None:
    asks(cast)
    cast.voice(cast.tom).taps("Take it")
    cast.tom.says("I am on the road")
    assert "I am on the road" in cast.ada.text
    assert "I am on the road" in cast.group[-1].text


def test_a_reading_comes_into_the_topic(cast: Cast) -> None:
    asks(cast)
    cast.voice(cast.tom).taps("Take it").taps("Ask for a test")
    cast.ada.says("fc 3 ph 7.6 ta 90")
    assert any("tested" in message.text or "7.6" in message.text for message in cast.group[-2:])


# -- who may act


@pytest.mark.parametrize("who", ["Bo", "Zed", ""])
def test_strangers_owners_and_nameless_ones_in_the_group_can_do_nothing(cast: Cast, who: str) -> None:
    asks(cast)
    cast.world.stranger("Zed")
    cast.world.stranger("")
    heard = len(cast.ada.messages)
    voice = cast.voice(cast.world.actors[who])
    for deed in (voice.says, voice.taps):
        deed("Take it")
        assert "Only Tidewell Tubs's people" in voice.new[-1].text
    assert len(cast.ada.messages) == heard
    assert cast.world.facts("taken") == []


def test_somebody_who_was_removed_or_blocked_the_bot_cannot_act_in_the_group(cast: Cast) -> None:
    asks(cast)
    cast.world.staff("Tom Tanner", standing="blocked")
    assert "blocked me" in cast.voice(cast.tom).taps("Take it").new[-1].text
    cast.world.staff("Una", standing="stopped")
    assert "Only" in cast.voice(cast.una).taps("Take it").new[-1].text
    assert cast.world.facts("taken") == []


def test_what_people_say_among_each_other_is_left_alone(cast: Cast) -> None:
    asks(cast)
    said = len(cast.group)
    cast.tom.at(CREW).says("who has lunch?")
    cast.world.arrives("Elsewhere", Wrote(text="hi"), Place(by=cast.tom.name, thread="4"))
    assert len(cast.group) == said
    assert cast.world.phones["Elsewhere"].messages == []


def test_a_button_of_another_group_does_nothing(cast: Cast) -> None:
    asks(cast)
    data = cast.group[-1].buttons[0][0].data
    cast.world.arrives("Elsewhere", Tapped(data=data), Place(by=cast.tom.name))
    assert cast.world.facts("taken") == []
    assert cast.world.phones["Elsewhere"].messages != []


# -- when the group fails


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


def test_a_group_that_moves_is_followed(cast: Cast) -> None:
    case = asks(cast)
    cast.voice(cast.tom).taps("Take it")
    cast.world.arrives(CREW, GroupMoved(to="Crew2"), Place())
    cast.ada.says("are you there?")
    new = cast.world.phones["Crew2"]
    assert list(new.topics.values()) == [case]
    assert "are you there?" in texts(new.messages)
    assert QUESTION in texts(new.messages)
    cast.tom.at("Crew2", case).says("Yes.")
    assert "Yes." in cast.ada.text


# -- words


@pytest.mark.parametrize("language", languages())
def test_a_topic_s_name_is_short_and_on_one_line_in_every_language(world: World, language: str) -> None:
    ada = world.owner("Ada " + "von und zu " * 9, model="Cove\n4" * 20)
    dee = world.staff("Dee", role="dealer", language=language)
    dee.at(CREW).names_it()
    ada.says(SHOCK)
    topic = world.phones[CREW].messages[-1].topic
    assert topic is not None
    assert "\n" not in topic.name
    assert topic.name.startswith("Ada von")
