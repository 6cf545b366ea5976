"""What somebody can set: units, language, place, quiet hours, reminders."""

from bot.talk.flow import Ask, Change, Flow, Next, Option, Say, Start, flow
from bot.talk.flows.welcome import reads_units
from bot.talk.words import languages, line


@flow("settings")
def settings(_: Start) -> Flow:
    """Choose what to set; each is a conversation of its own."""
    chosen = yield Ask(
        "what",
        line("settings.what"),
        tuple(
            Option(name, line(f"settings.{name}"))
            for name in ("quiet_hours", "reminders", "units", "language", "pause")
        ),
        columns=1,
    )
    return Next(str(chosen))


@flow("units")
def units(_: Start) -> Flow:
    """Litres and degrees Celsius, or gallons and Fahrenheit."""
    chosen = yield Ask(
        "units",
        line("units.which"),
        (Option("metric", line("units.metric")), Option("us", line("units.us"))),
        reads_units,
        columns=1,
    )
    yield Change("set", person={"units": chosen})
    yield Say(line("units.set"))
    return None


@flow("language")
def language(_: Start) -> Flow:
    """The language that the bot writes."""
    options = tuple(Option(name, line(f"language.{name}")) for name in languages())
    chosen = yield Ask("language", line("language.which"), options)
    yield Change("set", person={"language": chosen})
    yield Say(line("language.changed"))
    return None
