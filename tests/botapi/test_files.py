"""Files up and down."""

import pytest
from telegram import Bot, InputMediaDocument, InputMediaPhoto

from tests.botapi import BotApi
from tests.botapi.expect import refused
from tests.botapi.people import Person
from tests.botapi.pictures import png


@pytest.fixture
def ada(api: BotApi) -> Person:
    person = api.person("Ada")
    person.starts()
    return person


async def test_a_picture_goes_up_and_comes_down_the_same(bot: Bot, ada: Person) -> None:
    picture = png(320, 200)
    message = await bot.send_photo(ada.id, picture, caption="pH over 30 days")
    photo = message.photo[-1]
    assert (photo.width, photo.height, message.caption) == (320, 200, "pH over 30 days")
    assert bytes(await (await photo.get_file()).download_as_bytearray()) == picture


async def test_a_document_keeps_its_name_and_can_be_sent_again_by_its_id(bot: Bot, ada: Person) -> None:
    first = await bot.send_document(ada.id, b"BEGIN:VCALENDAR", filename="tub.ics")
    again = await bot.send_document(ada.id, first.document.file_id)
    assert (again.document.file_name, again.document.file_size) == ("tub.ics", 15)
    with refused("can't use file of type Document as Photo"):
        await bot.send_photo(ada.id, first.document.file_id)
    with refused("wrong file identifier"):
        await bot.send_document(ada.id, "nothing-of-that-name")


async def test_what_is_no_picture_is_refused(bot: Bot, ada: Person) -> None:
    with refused("image_process_failed"):
        await bot.send_photo(ada.id, b"not a picture")
    with refused("photo_invalid_dimensions"):
        await bot.send_photo(ada.id, png(2100, 100))
    with refused("non-empty"):
        await bot.send_document(ada.id, b"")


async def test_a_caption_has_1024_units_after_parsing(bot: Bot, ada: Person) -> None:
    await bot.send_photo(ada.id, png(10, 10), caption="<b>" + "\N{BATHTUB}" * 512 + "</b>", parse_mode="HTML")
    with refused("caption is too long"):
        await bot.send_photo(ada.id, png(10, 10), caption="x" * 1025)


async def test_an_album_shares_one_id_and_keeps_kinds_apart(bot: Bot, ada: Person) -> None:
    photos = [InputMediaPhoto(png(10, 10), caption="first"), InputMediaPhoto(png(20, 20))]
    messages = await bot.send_media_group(ada.id, photos)
    assert len({message.media_group_id for message in messages}) == 1
    assert [message.photo[-1].width for message in messages] == [10, 20]
    with refused("can't be sent together"):
        await bot.send_media_group(ada.id, [photos[0], InputMediaDocument(b"x")])
    with refused("2 to 10"):
        await bot.send_media_group(ada.id, photos[:1])


async def test_what_a_person_sends_can_be_downloaded_up_to_20_mb(bot: Bot, ada: Person) -> None:
    small = ada.sends_file("document", "log.csv", b"ph,7.4")
    large = ada.sends_file("document", "film.mov", size=20_000_001)
    file = await bot.get_file(small["document"]["file_id"])
    assert bytes(await file.download_as_bytearray()) == b"ph,7.4"
    with refused("file is too big"):
        await bot.get_file(large["document"]["file_id"])
    with refused("wrong file_id"):
        await bot.get_file("nothing-of-that-name")
