"""A production document is read whole or refused with its file, key and what was expected."""

from importlib import resources

import pytest

from fleet.errors import InvalidDocument
from fleet.model.production_toml import read_production

GOOD = """
name = "The Lamp at Tern Rock"
[[zone]]
name = "Quay"
[[zone.position]]
number = 17
part = "Fiddler"
channel = "quay-1/channel/1"
pack = "pack/k17"
"""


def test_reads_a_small_one() -> None:
    production = read_production(GOOD, "lamp.toml")
    assert production.zones == ("Quay",)
    assert production.positions[0].part == "Fiddler"
    assert not production.positions[0].spare
    assert production.position_of_channel("quay-1/channel/1") is production.positions[0]
    assert production.position_of_channel("quay-1/channel/2") is None


def test_reads_the_demonstration_production() -> None:
    text = resources.files("api.compose").joinpath("tern-rock-production.toml").read_text(encoding="utf-8")
    production = read_production(text, "tern-rock-production.toml")
    assert [position.number for position in production.positions] == list(range(1, 25))
    assert production.zones == ("House", "Quay", "Camera")
    assert [position.number for position in production.positions if position.spare] == [16, 21, 22]


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("name = ", "(the whole file)"),
        ('name = "x"\nstage = 1', "stage"),
        ('name = ""', "name"),
        ('name = "x"\nzone = 3', "zone"),
        (GOOD.replace("number = 17", "number = 0"), "zone[0].position[0].number"),
        (GOOD.replace("number = 17", "number = true"), "zone[0].position[0].number"),
        (GOOD.replace("quay-1/channel/1", "quay-1/carrier/1"), "zone[0].position[0].channel"),
        (GOOD.replace("pack/k17", "quay-1"), "zone[0].position[0].pack"),
        (GOOD + "spare = 1", "zone[0].position[0].spare"),
        (GOOD + "colour = 1", "zone[0].position[0].colour"),
        (GOOD + GOOD.split('name = "Quay"')[1], "number"),
        (GOOD + '[[zone]]\nname = "Quay"', "zone"),
    ],
)
def test_refuses_with_the_key(text: str, key: str) -> None:
    with pytest.raises(InvalidDocument) as caught:
        read_production(text, "lamp.toml")
    assert caught.value.key == key
    assert caught.value.file == "lamp.toml"
