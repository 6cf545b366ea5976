"""An owner asks for all that is stored on them and gets it as a file, in their own language."""

import json

import pytest

from tests.talk.world import World


@pytest.mark.parametrize(
    ("language", "asks", "says"),
    [("en", "my data", "That is all"), ("de", "meine Daten", "Das ist alles"), ("fr", "mes données", "C’est tout"),
     ("es", "mis datos", "Eso es todo"), ("en", "/data", "That is all")],
)  # fmt: skip
def test_an_owner_gets_a_file_with_what_they_told_and_a_word_on_who_sees_it(language: str, asks: str, says: str):
    with World() as world:
        ada = world.owner("Ada", person={"language": language})
        ada.says("it hums at night, like a blue heron")
        ada.says(asks)
        files = [parcel.made for parcel in world.sent if parcel.made]
        assert [made.name for made in files] == ["my-data.json"]
        stored = json.loads(files[0].content)
        assert stored["people"][0]["body"]["name"] == "Ada"
        assert "blue heron" in json.dumps(stored["inbox"])
        assert says in ada.text
