"""Litres told in a text that are not those on file: which of them holds, before a dose is computed."""

from pydantic import JsonValue

from bot.talk.flow import Ask, Change, Flow, Next, Option, Say, Start, flow
from bot.talk.words import Volume, line


@flow("which_volume")
def which_volume(start: Start) -> Flow:
    """Args: `said`, the litres that the text may mean; `filed`, those on file; `then`, the flow that goes on."""
    said = start.args["said"]
    assert isinstance(said, list)
    filed = start.args.get("filed")
    then = start.args["then"]
    assert isinstance(then, dict)
    litres = float(str(said[0]))
    if filed is not None or len(said) > 1:
        litres = float((yield _which(said, filed)))
    if litres != filed:
        yield Change("volume", tub={"volume": litres})
        yield Say(line("volume.taken", volume=Volume(litres)))
    args = then["args"]
    assert isinstance(args, dict)
    return Next(str(then["flow"]), args)


def _which(said: list[JsonValue], filed: JsonValue) -> Ask:
    if len(said) > 1:
        names = ("volume.gallon.us", "volume.gallon.imperial")
        options = [Option(str(each), line(name)) for each, name in zip(said, names, strict=True)]
    else:
        options = [Option(str(said[0]), line("volume.said", volume=Volume(float(str(said[0])))))]
    if filed is None:
        return Ask("which", line("volume.gallon"), tuple(options), name="gallon")
    on_file = Volume(float(str(filed)))
    options.append(Option(str(filed), line("volume.said", volume=on_file)))
    return Ask("which", line("volume.which", filed=on_file), tuple(options), name="volume", columns=1)
