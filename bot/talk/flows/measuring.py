"""How much a tub holds and how fast a hose runs: asked for, estimated from measurements, or measured with a bucket."""

from collections.abc import Generator
from typing import Any

from bot.model.person import Units
from bot.schedule.filling import Inside, Shape, filled_volume, flow_rate, volume_of
from bot.talk.flow import Again, Ask, Doing, Heard, Option, Reads, Say
from bot.talk.lengths import length
from bot.talk.understand import Doubt, duration, normalise, volume
from bot.talk.words import LITRES_PER_US_GALLON, Line, Volume, line

BACK = Option("/back", line("button.back"))
UNKNOWN = Option("unknown", line("button.dont_know"))
SLOWEST, FASTEST = 1.0, 150.0
"""Litres a minute that a hose gives, from a trickle to two fire-proof garden taps at once. Common practice."""
SMALLEST_TUB, LARGEST_TUB = 150.0, 15000.0
"""Litres; an estimate outside was mismeasured. Common practice."""
BUCKETS: dict[Units, tuple[float, ...]] = {
    "metric": (10.0, 12.0, 15.0),
    "us": tuple(gallons * LITRES_PER_US_GALLON for gallons in (2.0, 3.0, 5.0)),
}


def ask_volume(at: str, units: Units, *, by_filling: bool) -> Generator[Doing, Any, float | None]:
    """Litres in the tub, as told, estimated or measured; None where the owner doesn't know.

    `by_filling`: the tub is still empty, so that it can be measured while it fills.
    """
    ways = ("shape", "later") if by_filling else ("shape", "hose")
    answer = yield Ask(
        f"{at}volume",
        line(f"volume.ask.{units}"),
        (*(Option(way, line(f"volume.by.{way}")) for way in ways), UNKNOWN, BACK),
        _reads_volume(units),
        name="volume",
    )
    match answer:
        case {"gallons": [us, imperial]}:
            options = (Option(str(us), line("volume.gallon.us")), Option(str(imperial), line("volume.gallon.imperial")))
            return float((yield Ask(f"{at}gallon", line("volume.gallon"), (*options, BACK), name="gallon")))
        case "shape":
            return (yield from _from_shape(f"{at}shape.", units))
        case "hose":
            return (yield from _from_hose(f"{at}hose.", units))
        case "later" | "unknown":
            yield Say(line(f"volume.{answer}"))
            return None
        case litres:
            return float(str(litres))


def hose_flow(at: str, units: Units) -> Generator[Doing, Any, float | None]:
    """Litres a minute from the hose by a bucket and a watch; None where the owner would rather not."""
    bucket = yield Ask(
        f"{at}bucket",
        line("hose.bucket"),
        (
            *(Option(f"{litres:.3f}", line("hose.volume", volume=Volume(litres))) for litres in BUCKETS[units]),
            Option("skip", line("button.skip")),
            BACK,
        ),
        _reads_bucket(units),
        name="bucket",
    )
    if bucket == "skip":
        return None
    seconds = yield Ask(
        f"{at}seconds", line("hose.seconds"), (BACK,), _reads_seconds(float(str(bucket))), name="seconds"
    )
    return flow_rate(float(str(bucket)), float(str(seconds)))


def ask_minutes(at: str, text: Line) -> Generator[Doing, Any, float]:
    """How long the hose ran."""
    return float(str((yield Ask(at, text, (BACK,), _reads_minutes, name="minutes"))))


def _from_shape(at: str, units: Units) -> Generator[Doing, Any, float | None]:
    shape: Shape = yield Ask(
        f"{at}kind",
        line("shape.kind"),
        (*(Option(kind, line(f"shape.kind.{kind}")) for kind in ("round", "oval", "rectangular")), BACK),
        name="shape",
    )
    across = yield from _side(f"{at}length", "diameter" if shape == "round" else "length", units)
    other = across if shape == "round" else (yield from _side(f"{at}width", "width", units))
    depth = yield from _side(f"{at}depth", "depth", units)
    inside: Inside = yield Ask(
        f"{at}inside",
        line("shape.inside"),
        (*(Option(kind, line(f"shape.inside.{kind}")) for kind in ("seats", "open")), BACK),
        name="inside",
    )
    found = volume_of(shape, across, other, depth, inside)
    fits = SMALLEST_TUB <= found.likely <= LARGEST_TUB
    answer = yield Ask(
        f"{at}fits",
        line(
            "shape.found" if fits else "shape.implausible",
            likely=Volume(round(found.likely, -1)),
            low=Volume(round(found.low, -1)),
            high=Volume(round(found.high, -1)),
        ),
        ((Option("yes", line("shape.use")), UNKNOWN) if fits else (UNKNOWN,)) + (BACK,),
        name="fits",
    )
    return round(found.likely, -1) if answer == "yes" else None


def _side(key: str, what: str, units: Units) -> Generator[Doing, Any, float]:
    return float(str((yield Ask(key, line(f"shape.{what}.{units}"), (BACK,), _reads_length(units), name=what))))


def _from_hose(at: str, units: Units) -> Generator[Doing, Any, float | None]:
    flow = yield from hose_flow(at, units)
    if flow is None:
        return None
    return (yield from volume_by_time(f"{at}took", flow, line("hose.took")))


def volume_by_time(at: str, litres_a_minute: float, text: Line) -> Generator[Doing, Any, float | None]:
    """Litres that ran in as long as the owner says; None where that fits no tub."""
    litres = filled_volume(litres_a_minute, (yield from ask_minutes(at, text)))
    if not SMALLEST_TUB <= litres <= LARGEST_TUB:
        yield Say(line("hose.implausible_volume", volume=Volume(round(litres))))
        return None
    yield Say(line("hose.volume_found", volume=Volume(round(litres, -1))))
    return round(litres, -1)


def _bare(text: str) -> bool:
    """Whether a text is a number alone."""
    return normalise(text).replace(",", "").replace(".", "").replace(" ", "").isdigit()


def _reads_volume(units: Units) -> Reads:
    def read(text: str) -> Heard | Again | None:
        match volume(f"{text} us gal" if units == "us" and _bare(text) else text):
            case Doubt(code="which_gallon", choices=choices):
                return Heard({"gallons": list(choices)})
            case Doubt():
                return Again(line("volume.implausible"))
            case None:
                return None
            case litres:
                return Heard(litres)

    return read


def _reads_bucket(units: Units) -> Reads:
    def read(text: str) -> Heard | Again | None:
        match volume(f"{text} us gal" if units == "us" and _bare(text) else text):
            case Doubt(code="which_gallon", choices=(us, imperial)):
                litres = us if units == "us" else imperial
            case Doubt(code="implausible_volume", choices=(one,)):
                litres = one
            case float() as litres:
                pass
            case _:
                return None
        return Heard(f"{litres:.3f}") if 1 <= litres <= 60 else Again(line("hose.bucket.implausible"))

    return read


def _reads_seconds(bucket: float) -> Reads:
    def read(text: str) -> Heard | Again | None:
        said = duration("".join(text.split())) or duration(text)
        if said is None:
            return None
        seconds = said if _bare(text) else said * 60.0
        if seconds <= 0 or not SLOWEST <= flow_rate(bucket, seconds) <= FASTEST:
            return Again(line("hose.seconds.implausible"))
        return Heard(round(seconds, 1))

    return read


def _reads_minutes(text: str) -> Heard | Again | None:
    said = duration(text)
    if said is None:
        return None
    return Heard(round(said, 1)) if 1 <= said <= 3 * 1440 else Again(line("hose.minutes.implausible"))


def _reads_length(units: Units) -> Reads:
    def read(text: str) -> Heard | Again | None:
        said = length(text, units)
        if said is None:
            return None
        return Heard(round(said, 1)) if 20 <= said <= 1000 else Again(line("shape.implausible_length"))

    return read
