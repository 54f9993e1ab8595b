"""A configuration is used whole or not at all; the complaint names file, key and what was expected."""

from __future__ import annotations

import ipaddress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.config import (
    DEVICES_MAXIMUM,
    FILE_BYTES_MAXIMUM,
    DeviceAddress,
    Replay,
    configuration_from,
    read_configuration,
)
from fleet.errors import InvalidDocument
from fleet.ids import is_device_id

WHOLE = """
database = "tern-rock.sqlite3"
production = "production.toml"
allowed_networks = ["127.0.0.0/8", "192.0.2.0/24"]
allowed_ports = ["443", "20001-20099"]
device_tokens = "device-tokens.json"
device_authorities = "site-ca.pem"

[bind]
host = "localhost"
port = 8471

[[device]]
id = "quay-1"
url = "ws://127.0.0.1:20001"

[[device]]
id = "quay-2"
url = "wss://192.0.2.7:443/device"
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "console.toml"
    path.write_text(text)
    return path


def complaint(tmp_path: Path, text: str) -> InvalidDocument:
    with pytest.raises(InvalidDocument) as raised:
        read_configuration(written(tmp_path, text))
    assert raised.value.file == str(tmp_path / "console.toml")
    return raised.value


def test_a_whole_file_is_read(tmp_path: Path) -> None:
    configuration = read_configuration(written(tmp_path, WHOLE))
    assert configuration.database_url == f"sqlite:///{tmp_path}/tern-rock.sqlite3"
    assert configuration.production_file == tmp_path / "production.toml"
    assert (configuration.host, configuration.port) == ("127.0.0.1", 8471)
    assert configuration.devices == (
        DeviceAddress("quay-1", "ws://127.0.0.1:20001"),
        DeviceAddress("quay-2", "wss://192.0.2.7:443/device"),
    )
    assert ipaddress.ip_network("192.0.2.0/24") in configuration.reach.networks
    assert configuration.reach.ports == ((443, 443), (20001, 20099))
    assert configuration.device_tokens == tmp_path / "device-tokens.json"
    assert configuration.device_authorities == tmp_path / "site-ca.pem"


def test_discovery_is_off_until_interfaces_are_named(tmp_path: Path) -> None:
    assert read_configuration(written(tmp_path, DATABASE)).discovery_interfaces == ()
    found = read_configuration(written(tmp_path, DATABASE + '[discovery]\ninterfaces = ["127.0.0.1", "::1"]'))
    assert found.discovery_interfaces == ("127.0.0.1", "::1")


def test_a_device_may_be_told_more_of(tmp_path: Path) -> None:
    more = 'label = "Quay rack, top"\nexpects = "real"\ntoken = "quay"\n'
    device = read_configuration(written(tmp_path, DATABASE + DEVICE + more)).devices[0]
    assert (device.label, device.simulated, device.token) == ("Quay rack, top", False, "quay")
    named = read_configuration(written(tmp_path, DATABASE + DEVICE.replace("127.0.0.1", "quay.example")))
    assert named.devices[0].url == "ws://quay.example:20001"


def test_what_may_be_left_out_has_a_safe_default(tmp_path: Path) -> None:
    configuration = read_configuration(written(tmp_path, 'database = "a.sqlite3"'))
    assert (configuration.host, configuration.port) == ("127.0.0.1", 0)
    assert configuration.devices == ()
    assert configuration.production_file is None
    assert all(network.is_loopback for network in configuration.reach.networks)
    assert configuration.reach.ports == ((1024, 32767),)


def test_a_database_url_stays_as_it_is(tmp_path: Path) -> None:
    configuration = read_configuration(written(tmp_path, 'database = "postgresql://tern@127.0.0.1/rock"'))
    assert configuration.database_url == "postgresql://tern@127.0.0.1/rock"


DEVICE = '[[device]]\nid = "quay-1"\nurl = "ws://127.0.0.1:20001"\n'
DATABASE = 'database = "a.sqlite3"\n'


@pytest.mark.parametrize(
    ("text", "key", "expected"),
    [
        ("", "database", "missing"),
        ("database = 5", "database", "a text"),
        ('database = ""', "database", "isn't empty"),
        (DATABASE + "colour = 1", "colour", "one of database"),
        (DATABASE + "[bind]\nports = 1", "bind.ports", "one of host, port"),
        (DATABASE + "[bind]\nport = 65536", "bind.port", "0 to 65535"),
        (DATABASE + "[bind]\nport = true", "bind.port", "whole number"),
        (DATABASE + '[bind]\nport = "80"', "bind.port", "whole number"),
        (DATABASE + '[bind]\nhost = "0.0.0.0"', "bind.host", "this machine alone"),
        (DATABASE + '[bind]\nhost = "192.0.2.1"', "bind.host", "this machine alone"),
        (DATABASE + '[bind]\nhost = "console.example"', "bind.host", "in numbers"),
        (DATABASE + "bind = 3", "bind", "a table"),
        (DATABASE + "production = 3", "production", "a text"),
        (DATABASE + 'allowed_networks = "127.0.0.0/8"', "allowed_networks", "a list"),
        (DATABASE + 'allowed_networks = ["here"]', "allowed_networks", "192.0.2.0/24"),
        (DATABASE + 'allowed_networks = ["192.0.2.1/24"]', "allowed_networks", "192.0.2.0/24"),
        (DATABASE + "device = 3", "device", "[[device]]"),
        (DATABASE + DEVICE + DEVICE, "device[1].id", "no other device"),
        (DATABASE + DEVICE.replace("quay-1", "Quay 1"), "device[0].id", "a-z"),
        (DATABASE + DEVICE.replace("quay-1", "pack"), "device[0].id", "not 'pack'"),
        (DATABASE + DEVICE + 'name = "Fiddler"', "device[0].name", "one of id, url"),
        (DATABASE + DEVICE.replace("ws://", "http://"), "device[0].url", "ws://"),
        (DATABASE + DEVICE.replace(":20001", ""), "device[0].url", "port"),
        (DATABASE + DEVICE.replace(":20001", ":99999"), "device[0].url", "port"),
        (DATABASE + DEVICE.replace("127.0.0.1", "[::1"), "device[0].url", "ws://"),
        (DATABASE + DEVICE.replace("127.0.0.1", "tern@127.0.0.1"), "device[0].url", "no name or password"),
        (DATABASE + DEVICE.replace("127.0.0.1", "2130706433"), "device[0].url", "written plainly"),
        (DATABASE + DEVICE.replace("127.0.0.1", "169.254.169.254"), "device[0].url", "link-local"),
        (DATABASE + DEVICE.replace("127.0.0.1", "[::ffff:192.0.2.1]"), "device[0].url", "allowed networks"),
        (DATABASE + DEVICE.replace("20001", "22"), "device[0].url", "allowed ports"),
        (DATABASE + DEVICE + 'expects = "ghosts"', "device[0].expects", "either, real, simulated"),
        (DATABASE + DEVICE + f'label = "{"a" * 129}"', "device[0].label", "at most 128"),
        (DATABASE + "allowed_ports = [20001]", "allowed_ports", "a list of texts"),
        (DATABASE + 'allowed_ports = ["0-10"]', "allowed_ports", "1024-32767"),
        (DATABASE + 'allowed_ports = ["30-20"]', "allowed_ports", "1024-32767"),
        (DATABASE + 'allowed_ports = ["65536"]', "allowed_ports", "1024-32767"),
        (DATABASE + 'discovery = {interfaces = ["0.0.0.0"]}', "discovery.interfaces", "each named"),
        (DATABASE + 'discovery = {interfaces = ["eth0"]}', "discovery.interfaces", "in numbers"),
        (DATABASE + "discovery = {on = true}", "discovery.on", "one of interfaces"),
        ("database = ", "the file", "TOML"),
    ],
)
def test_what_is_wrong_is_named(tmp_path: Path, text: str, key: str, expected: str) -> None:
    error = complaint(tmp_path, text)
    assert error.key == key
    assert expected in error.expected


def test_a_secret_in_a_url_is_not_repeated(tmp_path: Path) -> None:
    for url in ("tern:lamplight@127.0.0.1", "tern:lamplight@127.0.0.1:x"):
        assert "lamplight" not in str(complaint(tmp_path, DATABASE + DEVICE.replace("127.0.0.1", url)))


def test_a_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    for path in (tmp_path / "absent.toml", tmp_path):
        with pytest.raises(InvalidDocument, match="can be read"):
            read_configuration(path)


def test_bytes_that_are_no_text_are_refused(tmp_path: Path) -> None:
    (tmp_path / "console.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(InvalidDocument, match="UTF-8"):
        read_configuration(tmp_path / "console.toml")


def test_bounds_hold(tmp_path: Path) -> None:
    assert "bytes" in complaint(tmp_path, "#" * (FILE_BYTES_MAXIMUM + 1)).expected
    many = [{"id": f"d{number}", "url": "ws://127.0.0.1:20001"} for number in range(DEVICES_MAXIMUM + 1)]
    with pytest.raises(InvalidDocument, match=f"at most {DEVICES_MAXIMUM}"):
        configuration_from({"database": "a", "device": many}, tmp_path)
    assert "deep" in complaint(tmp_path, "a = " + "[" * 100_000).expected


@given(st.text(max_size=70) | st.from_regex("[a-z0-9._-]{1,66}", fullmatch=True))
def test_the_ids_allowed_here_are_those_of_everything(text: str) -> None:
    document = {"database": "a", "device": [{"id": text, "url": "ws://127.0.0.1:20001"}]}
    try:
        configuration_from(document, Path("console.toml"))
        allowed = True
    except InvalidDocument:
        allowed = False
    assert allowed == is_device_id(text)


def replayed(tmp_path: Path, url: str, more: str = "") -> Path:
    return written(tmp_path, DATABASE + f'[[device]]\nid = "quay-1"\nurl = "{url}"\n{more}')


def test_a_recording_beside_the_file_or_below_stands_for_a_device(tmp_path: Path) -> None:
    (tmp_path / "tapes").mkdir()
    for name in ("quay-1.jsonl", "tapes/quay-1.jsonl"):
        (tmp_path / name).write_text("")
        plain = read_configuration(replayed(tmp_path, f"replay:{name}")).devices
        assert plain == (DeviceAddress("quay-1", f"replay:{name}", Replay(tmp_path / name)),)
        fast = read_configuration(replayed(tmp_path, f"replay:{name}", "speed = 4\nloop = true\n")).devices
        assert fast[0].replay == Replay(tmp_path / name, 4.0, loop=True)


def test_a_recording_outside_the_folder_is_refused_however_it_is_reached(tmp_path: Path) -> None:
    folder = tmp_path / "console"
    folder.mkdir()
    (tmp_path / "outside.jsonl").write_text("")
    (folder / "link.jsonl").symlink_to(tmp_path / "outside.jsonl")
    for url in (
        "../outside.jsonl",
        f"{tmp_path}/outside.jsonl",
        "link.jsonl",
        "a/../../outside.jsonl",
        "",
        "a\\u0000b",
    ):
        with pytest.raises(InvalidDocument, match="in the configuration's folder or below"):
            read_configuration(replayed(folder, f"replay:{url}"))


@pytest.mark.parametrize(
    ("url", "more", "words"),
    [
        ("replay:nowhere.jsonl", "", "a recording that is there"),
        ("replay:.", "", "a recording that is there"),
        ("replay:quay-1.jsonl", "speed = 0\n", "a number from 0.5 to 20"),
        ("replay:quay-1.jsonl", "speed = nan\n", "a number from 0.5 to 20"),
        ("replay:quay-1.jsonl", "speed = true\n", "a number from 0.5 to 20"),
        ("replay:quay-1.jsonl", 'loop = "yes"\n', "true or false"),
        ("replay:quay-1.jsonl", "colour = 1\n", "one of id, url, label, speed, loop"),
        ("ws://127.0.0.1:20001", "speed = 1\n", "one of id, url"),
    ],
)
def test_a_wrong_replay_is_refused_in_words(tmp_path: Path, url: str, more: str, words: str) -> None:
    (tmp_path / "quay-1.jsonl").write_text("")
    with pytest.raises(InvalidDocument) as raised:
        read_configuration(replayed(tmp_path, url, more))
    assert words in raised.value.expected
