"""Cases in a group of the dealer's people: each in a topic of its own, and in private chats where the group fails."""

from datetime import timedelta

import pytest

from bot.model.event import File, Sent, Tapped, Unblocked, Wrote
from bot.model.fact import ReadingTaken
from bot.model.group import Place
from bot.talk.words import languages
from dosing import Said
from tests.talk.groups import CREW, QUESTION, SHOCK, Cast, asks, topics
from tests.talk.world import World, texts

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


def test_nobody_answers_a_question_that_another_was_asked(cast: Cast) -> None:
    asks(cast)
    tom, una = cast.voice(cast.tom), cast.voice(cast.una)
    tom.taps("Take it")
    una.taps("Note")
    tom.taps("Close it")
    assert "out of date" in texts(una.taps("Solved").new)
    assert cast.world.facts("cleared") == cast.world.facts("case_note") == []
    una.says("calls every week")
    assert [fact.text for fact in cast.world.facts("case_note")] == ["calls every week"]
    tom.taps("Solved").taps("Skip")
    assert [fact.reason for fact in cast.world.facts("cleared")] == ["solved"]


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


# -- what else a case can do, in its topic


def test_a_plan_is_made_and_sent_in_the_topic(cast: Cast) -> None:
    cast.ada.did(
        ReadingTaken(values={key: Said.parse(said) for key, said in {"fc": "1", "ph": "8.4", "ta": "180"}.items()}),
        ago=timedelta(hours=1),
    )
    asks(cast)
    tom = cast.voice(cast.tom).taps("Take it").taps("Plan")
    assert "Send it" in [button.label for row in cast.group[-1].buttons for button in row]
    cast.voice(cast.una).taps("Send it")  # it is Tom's question
    assert cast.world.facts("plan_sent") == []
    tom.taps("Send it")
    assert [fact.by for fact in cast.world.facts("plan_sent")] == [cast.tom.person.key]
    assert cast.ada.last.dose is not None
    assert cast.tom.messages == []


def test_a_dose_beyond_sense_is_asked_about_in_the_topic_before_it_goes_out(cast: Cast) -> None:
    asks(cast)
    tom = cast.voice(cast.tom).taps("Take it")
    heard = len(cast.ada.messages)
    tom.says("add 250 g dichlor to raise 2 ppm")
    assert len(cast.ada.messages) == heard
    assert cast.group[-1].buttons
    assert cast.group[-1].topic is not None
    assert cast.group[-1].topic.case == cast.case


def test_what_cannot_be_passed_on_is_said_to_who_sent_it_and_a_place_is_passed_on_in_numbers(cast: Cast) -> None:
    asks(cast)
    cast.voice(cast.tom).taps("Take it")
    cast.ada.sends("contact")
    assert "can't be passed on" in cast.ada.text
    cast.ada.does(Sent(files=(File(what="location", reference="48.1,11.5"),)))
    assert "Place: 48.1,11.5" in cast.group[-1].text
    assert "can't" not in cast.ada.text
