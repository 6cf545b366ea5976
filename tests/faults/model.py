"""Owners, technicians, the dealer, the clock and the process do at random what they can do; the promises hold.

    python -m tests.faults.model 2000

lives so many lives, each of its own seed, and prints the shortest that breaks a promise.
"""

import argparse
import logging
import sys
from datetime import timedelta

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule, run_state_machine_as_test

from bot.channels.rehearsal import buttons_of
from bot.model.event import Blocked, Tapped, Unblocked
from tests.faults.neighbourhood import OWNERS, STAFF, Fuse, Neighbourhood, Where
from tests.fuzz.strolls import ANSWERS
from tests.talk.world import Actor

STEPS = 40
SAYINGS = (
    "test", "cl 1 ph 8.4 ta 180", "cl 4 ph 7.4 ta 80 ch 150", "br 1 ph 7.9 ta 150", "two caps of pH down last night",
    "bathed", "card", "back", "start over", "cancel", "stop", "start", "pause", "person", "it's cloudy", "/refill",
    "/shocked", "I got an electric shock in the water", "changed the filter", "1", "yes", "is it warm enough?",
)  # fmt: skip
ORDERS = ("/cases", "hello there", "note: has been here before", "put 20 g of pH down in", "/figures", "/find Ada")
OWNER, ANYBODY = st.sampled_from(OWNERS), st.sampled_from((*OWNERS, *STAFF, "Eve", "Zed"))
PLACE = st.integers(0, 30)


class Life(RuleBasedStateMachine):
    """One neighbourhood, and what happens in it."""

    def __init__(self) -> None:
        super().__init__()
        self.town = Neighbourhood()
        self.rounds = 0

    def teardown(self) -> None:
        self.town.close()

    def them(self, name: str) -> Actor:
        return self.town.actors[name]

    @rule(who=OWNER, text=st.sampled_from(SAYINGS))
    def owner_writes(self, who: str, text: str) -> None:
        self.town.survives(lambda: self.them(who).says(text))

    @rule(who=st.sampled_from(("Eve", "Zed")), text=st.sampled_from(SAYINGS))
    def newcomer_writes(self, who: str, text: str) -> None:
        self.town.survives(lambda: self.them(who).says(text))

    @rule()
    def eve_opens_her_invite(self) -> None:
        self.town.survives(lambda: self.them("Eve").opens("let-eve-in"))

    @rule(who=st.sampled_from(STAFF), text=st.sampled_from(ORDERS))
    def staff_write(self, who: str, text: str) -> None:
        self.town.survives(lambda: self.them(who).says(text))

    @rule(who=ANYBODY, back=st.integers(0, 6), place=PLACE)
    def somebody_taps(self, who: str, back: int, place: int) -> None:
        """A button on one of the newest messages: often one that is old by now."""
        offered = [buttons_of(message) for message in self.them(who).messages if message.buttons]
        if offered:
            buttons = offered[max(-1 - back, -len(offered))]
            self.town.survives(lambda: self.them(who).taps_data(buttons[place % len(buttons)].data))

    @rule(who=OWNER, place=PLACE)
    def owner_answers(self, who: str, place: int) -> None:
        """What is asked, sensibly."""
        asks = self.them(who).last.asks if self.them(who).messages else None
        if typed := ANSWERS.get((asks or "").split(".")[0]):
            self.town.survives(lambda: self.them(who).answers(asks or "", typed[place % len(typed)]))

    @rule(who=OWNER)
    def owner_goes_on(self, who: str) -> None:
        """Whatever is asked is answered with the first button, five times over."""
        for _ in range(5):
            buttons = self.them(who).buttons if self.them(who).messages else []
            if buttons:
                self.town.survives(lambda label=buttons[0]: self.them(who).taps(label))

    @rule(who=OWNER)
    def owner_sends_a_photo(self, who: str) -> None:
        self.town.survives(lambda: self.them(who).sends("photo"))

    @rule(who=OWNER, told=st.booleans())
    def owner_blocks_the_bot(self, who: str, told: bool) -> None:
        self.town.phones[who].blocked = True
        if told:
            self.town.survives(lambda: self.them(who).does(Blocked()))

    @rule(who=OWNER)
    def owner_is_back(self, who: str) -> None:
        if self.town.phones[who].blocked:
            self.town.phones[who].blocked = False
            self.town.survives(lambda: self.them(who).does(Unblocked()))

    @precondition(lambda self: self.rounds < 3)
    @rule(who=OWNER)
    def owner_wants_to_be_forgotten(self, who: str) -> None:
        self.rounds += 1
        self.town.survives(lambda: self.them(who).says("/erase"))
        self.town.survives(lambda: self.them(who).says("yes"))

    @rule(place=PLACE)
    def two_tap_at_once(self, place: int) -> None:
        """Two technicians tap the same place of what each was told last."""
        for who in ("Tom", "Una"):
            offered = [buttons_of(message) for message in self.them(who).messages if message.buttons]
            if offered:
                data = offered[-1][place % len(offered[-1])].data
                self.town.do(self.town.house.engine.receive(self.town.arrival(who, Tapped(data=data))))
        self.town.survives(lambda: self.town.do(self.town.house.settle_down(self.town.clock.now())))

    @precondition(lambda self: self.rounds < 3)
    @rule(
        kind=st.sampled_from(("reminder", "safety")),
        when=st.sampled_from(("Now", "Over 4 hours", "At a time there")),
        order=st.sampled_from(("", "Pause", "Cancel")),
    )
    def dealer_writes_to_all(self, kind: str, when: str, order: str) -> None:
        self.rounds += 1
        dee = self.them("Dee")

        def taps(label: str) -> None:
            if dee.messages and label in dee.buttons:
                dee.taps(label)

        for act in (
            lambda: dee.says("round"),
            lambda: taps("New message to many"),
            lambda: dee.answers("kind", kind).says("all"),
            lambda: taps("Write the message"),
            lambda: dee.says("We are closed next week."),
            lambda: taps(when),
            lambda: taps("Send"),
            lambda: taps(order),
        ):
            self.town.survives(act)

    @rule(minutes=st.sampled_from((1, 16, 31, 121, 600, 1441, 5 * 1440, 9 * 1440)))
    def time_passes(self, minutes: int) -> None:
        self.town.survives(lambda: self.town.passes(minutes=minutes))

    @rule(minutes=st.sampled_from((5, 61, 600, 1441, 4 * 1440)))
    def machine_sleeps(self, minutes: int) -> None:
        self.town.survives(lambda: self.town.sleeps(timedelta(minutes=minutes)))

    @rule()
    def process_is_restarted(self) -> None:
        self.town.restart()

    @rule(where=st.sampled_from(("deciding", "sending")), passes=st.integers(0, 4))
    def process_will_die(self, where: Where, passes: int) -> None:
        self.town.fuse = Fuse(where, passes)

    @rule(count=st.integers(1, 5), seconds=st.sampled_from((5.0, 600.0, 6 * 3600.0)))
    def channel_refuses(self, count: int, seconds: float) -> None:
        self.town.refusals, self.town.refuses_for = count, seconds

    @invariant()
    def promises_hold(self) -> None:
        self.town.check_all()


def live(lives: int, steps: int = STEPS, *, same: bool = False) -> None:
    """Live so many lives, the `same` ones each time where wanted; the shortest that breaks a promise is printed, and
    its error raised.
    """
    run_state_machine_as_test(
        Life,
        settings=settings(
            max_examples=lives,
            stateful_step_count=steps,
            deadline=None,
            database=None,
            derandomize=same,
            suppress_health_check=list(HealthCheck),
            phases=(Phase.generate, Phase.shrink),
        ),
    )


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.faults.model")
    parser.add_argument("lives", type=int, nargs="?", default=500)
    parser.add_argument("--steps", type=int, default=STEPS)
    options = parser.parse_args()
    logging.disable(logging.CRITICAL)
    live(options.lives, options.steps)
    print(f"{options.lives} lives of up to {options.steps} steps broke no promise")
    return 0


if __name__ == "__main__":
    sys.exit(main())
