"""Start-up: from plain water to water that is balanced, sanitized and tested before anyone bathes."""

from collections.abc import Generator, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from bot.model.fact import CartridgeChanged, ReadingTaken, StartedUp, TestWanted
from bot.model.tub import Tub
from bot.talk.flow import Ask, Change, Doing, Flow, Keep, Option, Record, Say, Start, flow
from bot.talk.flows.about_tub import ask_volume_and_sanitizer
from bot.talk.flows.by_label import add_by_label
from bot.talk.flows.cautions import warn
from bot.talk.flows.dosing_round import dosing_round
from bot.talk.flows.hand_over import hand_over
from bot.talk.flows.measuring import BACK
from bot.talk.flows.pads import Pads, ask_pads
from bot.talk.flows.walk_plan import Ended
from bot.talk.flows.warming import two_thermometers, wait_until_warm
from bot.talk.words import line
from dosing import Kit, Product, Said

FIRST_TEST_HOURS = 24
"""The first of the tests of the first week."""
NO_SANITIZER_HOURS = 12
"""When to ask again for water that has no sanitizer yet."""


@flow("start_up")
def start_up(start: Start) -> Flow:
    """Args: `heating`, whether the water is being heated for the first time; `warm_at`, when it will be warm."""
    assert start.tub
    yield Say(line("startup.begin"))
    tub = yield from ask_volume_and_sanitizer(start.tub, "tub.", start.person.units, empty=False)
    source = yield from _source_water(start, tub)
    kit = tub.kit or start.dealer.kit
    ended: Ended | None = None
    untouched = True
    for what in start.dealer.start_order:
        match what:
            case "metal_binder" if (yield from _has_metals(tub)):
                yield from add_by_label(start, tub, "binder", _first(kit, binder=True))
            case "cartridge" if tub.cartridge is not False:
                yield from _cartridge(tub)
            case "oxidiser":
                yield from add_by_label(start, tub, "oxidiser", _oxidiser(kit))
                untouched = False
            case "balance" | "sanitizer" if ended is None:
                ended = yield from _balance(start, tub, kit, source if untouched else None)
            case "buffer" if ended and ended.how == "in_range" and (product := _first(kit, buffer=True)):
                yield from add_by_label(start, tub, "buffer", product)
    assert ended is not None
    yield from _begin_first_week(ended)
    yield from _until_bathing(start, tub, kit, ended)
    return None


def _source_water(start: Start, tub: Tub) -> Generator[Doing, Any, Mapping[str, Said]]:
    """Test the fill water before anything goes in."""
    sanitizer = "br" if tub.sanitizer == "bromine" else "fc"
    scale = tub.scale or start.dealer.scale
    pads = Pads((sanitizer, "ph", "ta", "ch"), scale, tub.method, tub.sanitizer or "chlorine")
    values, method = yield from ask_pads("source.", pads, head=line("startup.source"))
    yield Record("source", ReadingTaken(values=values, method=method, source=True))
    return values


def _has_metals(tub: Tub) -> Generator[Doing, Any, bool]:
    """Whether a metal binder goes in: for well water, and where the water is known to stain."""
    if tub.water_source in ("mains", "softened"):
        return False
    if tub.water_source == "well":
        return True
    answer = yield Ask(
        "metals",
        line("startup.metals"),
        (Option("yes", line("startup.metals.yes")), Option("no", line("startup.metals.no")), BACK),
        columns=1,
    )
    yield Change("set.source", tub={"water_source": "well" if answer == "yes" else "mains"})
    return bool(answer == "yes")


def _cartridge(tub: Tub) -> Generator[Doing, Any, None]:
    """The water-treatment cartridge in its place, if there is one."""
    options = (
        Option("done", line("button.done")),
        Option("later", line("startup.cartridge.later")),
        Option("none", line("startup.cartridge.none")),
        BACK,
    )
    answer = yield Ask("cartridge", line("startup.cartridge"), options)
    if answer == "done":
        yield Record("cartridge.placed", CartridgeChanged())
    if tub.cartridge is None and answer != "later":
        yield Change("set.cartridge", tub={"cartridge": answer == "done"})


def _balance(start: Start, tub: Tub, kit: Kit, source: Mapping[str, Said] | None) -> Generator[Doing, Any, Ended]:
    """Balance and sanitize, without what goes in by its label alone.

    `source`: the water as it is, where nothing that changes it has gone in since it was tested.
    """
    if tub.volume is None or tub.sanitizer is None:
        yield from hand_over(start, "unknown", ("tub_unknown",))
        yield Say(line("startup.unknown", dealer=start.dealer.name))
        return Ended("unknown")
    begin = replace(start, tub=tub.model_copy(update={"kit": _without_label_doses(kit)}))
    return (yield from dosing_round(begin, prefix="water.", purpose="startup", prefilled=source))


def _begin_first_week(ended: Ended) -> Generator[Doing, Any, None]:
    if ended.how in ("in_range", "later"):
        yield Record("started", StartedUp())
    else:
        yield Say(line("startup.unfinished"))


def _until_bathing(start: Start, tub: Tub, kit: Kit, ended: Ended) -> Generator[Doing, Any, None]:
    """Say when the next test is due; wait for the warmth and test once more; warn of heat before the first bath."""
    if ended.how in ("taken_over", "person"):
        return
    yield from _next_test(ended)
    if start.args.get("heating") and not (yield from _warm_and_tested(start, tub, kit, ended)):
        return
    if ended.how == "in_range":
        yield Say((yield from warn("bath", "heat")))


def _warm_and_tested(start: Start, tub: Tub, kit: Kit, ended: Ended) -> Generator[Doing, Any, bool]:
    warm_at = start.args.get("warm_at")
    long = yield from wait_until_warm(start, datetime.fromisoformat(str(warm_at)) if warm_at else None)
    if not (yield from two_thermometers(start)):
        return False
    if ended.how == "in_range" and long:
        begin = replace(start, tub=tub.model_copy(update={"kit": _without_label_doses(kit)}))
        yield from dosing_round(begin, prefix="warm.", extra=(), head=line("startup.test_warm"))
    return True


def _next_test(ended: Ended) -> Generator[Doing, Any, None]:
    if ended.how == "later":
        return
    hours = FIRST_TEST_HOURS if ended.how == "in_range" else NO_SANITIZER_HOURS
    moment = yield Keep("next.at", lambda live: (live.now + timedelta(hours=hours)).isoformat())
    at = datetime.fromisoformat(str(moment))
    yield Record("next", TestWanted(at=at, why="first_week" if ended.how == "in_range" else "no_sanitizer"))
    yield Say(line("startup.first_week" if ended.how == "in_range" else "startup.test_soon", at=at))


def _first(kit: Kit, *, binder: bool = False, buffer: bool = False) -> Product | None:
    return next((one for one in kit.products if (binder and one.binder) or (buffer and one.buffer)), None)


def _oxidiser(kit: Kit) -> Product | None:
    return next((one for one in kit.products if one.main == "potassium_monopersulfate"), None)


def _without_label_doses(kit: Kit) -> Kit:
    return kit.without(*(product.key for product in kit.products if product.binder or product.buffer))
