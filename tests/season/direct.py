"""A policy and a tub, without any conversation: an owner who does what the policy says, as owners do."""

from __future__ import annotations

from tests.season.books import Book
from tests.season.draw import PERFECT, Away, Case, Soak
from tests.season.life import TEST_MINUTES, Life, Manner
from tests.season.policy import (
    Act,
    Aerate,
    Bathed,
    Better,
    Factory,
    Filled,
    Knowing,
    Leaving,
    Moment,
    NewBottle,
    Pour,
    Poured,
    Profile,
    Refill,
    Test,
    Tested,
)  # fmt: skip
from tests.season.strip import as_reading

ROUNDS = 8
PLAIN, METER, BEST_OWNER, BOTH = Manner(), Manner(meter=True), Manner(PERFECT), Manner(PERFECT, meter=True)


def play(case: Case, factory: Factory, manner: Manner = PLAIN) -> Book:
    """One tub's season under a policy."""
    return Season(case, factory, manner).run()


class Season(Life):
    """One tub, its owner and the policy that they follow."""

    def __init__(self, case: Case, factory: Factory, manner: Manner) -> None:
        super().__init__(case, manner)
        profile = Profile(
            case.stated, case.kit, round(case.make.temperature), case.water, self.reader.method, case.soaks_per_week
        )
        self.policy = factory(profile)
        if isinstance(self.policy, Knowing):
            self.policy.meet(self.tub)

    def begin(self) -> None:
        self.policy.told(Filled(0.0))

    def evening(self) -> None:
        self._follow("evening")

    def bathed(self, soak: Soak) -> None:
        self.policy.told(Bathed(soak.at, soak.bathers, soak.minutes))
        self._follow("soaked")

    def leaves(self, away: Away) -> None:
        self.policy.told(Leaving(self.tub.at, away.end))

    def better(self, ph: float) -> None:
        self.policy.told(Tested(self.tub.at, as_reading({"ph": ph}, "meter"), better=True))

    def new_bottle(self) -> None:
        self.policy.told(NewBottle(self.tub.at))

    def _follow(self, moment: Moment) -> None:
        for _ in range(ROUNDS):
            acts = self.policy.advise(self.tub.at, moment)
            if not acts or not all(self._do(act) for act in acts):
                return
            moment = "again"

    def _do(self, act: Act) -> bool:
        """Do it; False where the owner leaves everything for another day."""
        match act:
            case Test():
                self._test()
            case Better():
                self.asks_for_better()
            case Pour():
                return self._pour(act)
            case Aerate(minutes):
                self.airs(minutes)
            case Refill():
                self.refills()
                self.policy.told(Filled(self.tub.at))
        return True

    def _test(self) -> None:
        """A test that is put off to another evening puts off nothing else."""
        if self.is_late():
            return
        values = self.reads(("fc", "ph", "ta", "ch", "cya") if self.reader.method == "meter" else ("fc", "ph", "ta"))
        self.policy.told(Tested(self.tub.at, as_reading(values, self.reader.method)))
        self.waits(TEST_MINUTES)

    def _pour(self, act: Pour) -> bool:
        if not self.pours(act.product, act.grams, balance=act.why == "balance"):
            return False
        product = self.case.kit.named(act.product)
        assert product is not None
        self.policy.told(Poured(self.tub.at, act.product, act.grams, product.split(act.grams), act.why))
        self.waits(act.wait_minutes)
        return True
