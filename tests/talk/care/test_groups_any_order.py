"""Whatever comes about in a group in whatever order: nobody without the right does anything, and nothing breaks."""

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule

from bot.channels.rehearsal import Phone
from bot.model.event import Blocked, Tapped, Wrote
from bot.model.group import Place
from bot.talk.card import Story
from bot.talk.handling import stories
from tests.talk.groups import CREW, Cast, asks
from tests.talk.world import World


class Anybody(RuleBasedStateMachine):
    """Owners, staff and strangers do anything in the group, and the group does anything to them."""

    def __init__(self) -> None:
        super().__init__()
        self.cast = Cast.of(World())
        self.cast.world.stranger("Zed")
        self.said = 0
        asks(self.cast)

    def teardown(self) -> None:
        self.cast.world.close()

    def _holder(self) -> str | None:
        return next((story.state.by for story in self._stories() if story.state and story.fact.case == self.case), None)

    def _stories(self) -> list[Story]:
        return stories(self.cast.tom.draft())

    @property
    def case(self) -> str:
        return str(self.cast.world.facts("case")[0].case)

    @property
    def phone(self) -> Phone:
        return self.cast.world.phones[CREW]

    @rule(who=st.sampled_from(["Tom Tanner", "Una", "Dee", "Bo", "Zed"]))
    def speaks(self, who: str) -> None:
        self.said += 1
        words = f"word {self.said}"
        holder, asked = self._holder(), self._is_asked(who)
        self.cast.world.actors[who].at(CREW, self.case).says(words)
        reached = any(words in message.text for message in self.cast.ada.messages)
        in_topic = bool(self.phone.thread_of(self.case)) or not self.phone.has_topics
        ours = self.cast.dee.known.group
        active = ours is not None and ours.standing == "active"
        if not asked:
            assert reached == (holder == f"p-{who}".lower() and in_topic and ours is not None) or not active

    def _is_asked(self, who: str) -> bool:
        group = Place(by=who, thread=self.phone.thread_of(self.case) if self.phone.has_topics else "")
        arrival = self.cast.world.arrival(CREW, Wrote(text="")).model_copy(update={"group": group})
        return bool(self.cast.world.do(self.cast.world.store.known(arrival)).conversation.flows)

    @rule(who=st.sampled_from(["Tom Tanner", "Una", "Dee", "Bo", "Zed"]), place=st.integers(0, 30))
    def taps(self, who: str, place: int) -> None:
        there = [button for message in self.phone.messages for row in message.buttons for button in row]
        before = len(self.cast.world.journal(self.cast.ada))
        if there:
            voice = self.cast.world.actors[who].at(CREW, self.case)
            voice.does(Tapped(data=there[-1 - place % len(there)].data))
        if who in ("Bo", "Zed"):
            assert len(self.cast.world.journal(self.cast.ada)) == before

    @rule(text=st.sampled_from(["hello?", "ph 7.6 fc 3", "it is back", "it tingles when I touch the water"]))
    def owner_writes(self, text: str) -> None:
        self.cast.ada.says(text)

    @rule()
    def topic_is_deleted(self) -> None:
        self.phone.topics.clear()

    @rule(on=st.booleans())
    def topics_are_switched(self, on: bool) -> None:
        self.phone.has_topics = on

    @rule()
    def bot_is_thrown_out_and_let_in_again(self) -> None:
        self.phone.blocked = True
        self.cast.una.at(CREW).does(Blocked())
        self.cast.ada.says("anybody?")
        self.phone.blocked = False
        self.cast.dee.at(CREW).names_it(has_topics=self.phone.has_topics)

    @rule(minutes=st.sampled_from([1, 31, 600]))
    def time_passes(self, minutes: int) -> None:
        self.cast.world.passes(minutes=minutes)

    @rule()
    def begins_again(self) -> None:
        self.cast.world.restart()


TestAnybody = Anybody.TestCase
TestAnybody.settings = settings(max_examples=8, stateful_step_count=14, deadline=None)
