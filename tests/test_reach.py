"""Where devices may be reached, and the forms in which somebody may try to reach elsewhere."""

from __future__ import annotations

import ipaddress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.reach import Reach, UnreachablePlace, read_device_url, unmapped

WIDE = Reach((ipaddress.ip_network("0.0.0.0/0"), ipaddress.ip_network("::/0")), ((1, 65_535),))


@pytest.mark.parametrize(
    ("text", "url"),
    [
        ("ws://127.0.0.1:20001", "ws://127.0.0.1:20001/"),
        ("WS://Quay.Example.:20001/", "ws://quay.example:20001/"),
        ("wss://quay-1.example:8443/device", "wss://quay-1.example:8443/device"),
        ("ws://[::1]:20001/", "ws://[::1]:20001/"),
        ("ws://[0:0:0:0:0:0:0:1]:20001/", "ws://[::1]:20001/"),
        ("ws://localhost:20001", "ws://localhost:20001/"),
    ],
)
def test_a_url_is_read_into_one_form(text: str, url: str) -> None:
    assert read_device_url(text).url == url
    assert read_device_url(url).url == url


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("http://127.0.0.1:20001", "ws:// or wss://"),
        ("ws://:20001", "with a host"),
        ("ws://127.0.0.1", "a port"),
        ("ws://127.0.0.1:0", "a port"),
        ("ws://127.0.0.1:65536", "can't be read"),
        ("ws://127.0.0.1:x", "can't be read"),
        ("ws://tern:lamp@127.0.0.1:20001", "no name or password"),
        ("ws://127.0.0.1:20001@192.0.2.1:20001", "no name or password"),
        ("ws://127.0.0.1:20001/?to=192.0.2.1", "no query"),
        ("ws://127.0.0.1:20001/#there", "no query"),
        ("ws://127.0.0.1:20001/a\r\nHost: b", "plain characters"),
        ("ws://127.0.0.1\\@192.0.2.1:20001", "plain characters"),
        ("ws://127.0.0.1:20001/ü", "plain characters"),
        ("ws://127.0.0.1:20001/<a>", "its path"),
        ("ws://[::1", "can't be read"),
        ("ws://[fe80::1%eth0]:20001", "interface"),
        ("ws://quay_.-:20001", "neither an address nor a name"),
        ("ws://" + "a" * 64 + ":20001", "neither an address nor a name"),
        ("ws://" + "a." * 126 + "aa:20001", "neither an address nor a name"),
        ("ws://a..b:20001", "neither an address nor a name"),
        ("ws://127.0.0.1:20001/" + "a" * 2048, "at most 2048"),
        # The same loopback address as inet_aton(3) reads it, in other bases and with parts left out.
        ("ws://2130706433:20001", "written plainly"),
        ("ws://0x7f000001:20001", "written plainly"),
        ("ws://0x7f.1:20001", "written plainly"),
        ("ws://017700000001:20001", "written plainly"),
        ("ws://0177.0.0.1:20001", "written plainly"),
        ("ws://127.1:20001", "written plainly"),
        ("ws://127.0.0.1.:20001", "written plainly"),
        ("ws://127.0.0.01:20001", "written plainly"),
    ],
)
def test_any_other_form_is_refused_in_words(text: str, reason: str) -> None:
    with pytest.raises(UnreachablePlace, match=reason):
        read_device_url(text)


@pytest.mark.parametrize(
    ("address", "reason"),
    [
        ("0.0.0.0", "unspecified"),
        ("0.1.2.3", "unspecified"),
        ("::", "unspecified"),
        ("169.254.1.1", "link-local"),
        ("169.254.169.254", "link-local"),
        ("fe80::1", "link-local"),
        ("224.0.0.251", "multicast"),
        ("ff02::fb", "multicast"),
        ("255.255.255.255", "broadcast"),
        ("240.0.0.1", "broadcast or reserved"),
        ("100.100.100.200", "metadata"),
        ("168.63.129.16", "metadata"),
        ("192.0.0.192", "metadata"),
        ("fd00:ec2::254", "metadata"),
        ("::ffff:169.254.169.254", "link-local"),
        ("::ffff:0.0.0.0", "unspecified"),
        ("::169.254.169.254", "translated"),
        ("64:ff9b::a9fe:a9fe", "translated"),
        ("2002:a9fe:a9fe::1", "translated"),
        ("2001:0:a9fe:a9fe::1", "translated"),
    ],
)
def test_some_addresses_are_never_reached_whatever_is_allowed(address: str, reason: str) -> None:
    with pytest.raises(UnreachablePlace, match=reason):
        WIDE.check_address(ipaddress.ip_address(address))


def test_by_default_only_this_machine_is_reached() -> None:
    for address in ("127.0.0.1", "127.255.0.1", "::1", "::ffff:127.0.0.1"):
        Reach().check_address(ipaddress.ip_address(address))
    for address in ("10.0.0.1", "192.168.1.1", "fd00::1", "192.0.2.1", "::ffff:10.0.0.1", "126.255.255.255"):
        with pytest.raises(UnreachablePlace, match="not in the allowed networks"):
            Reach().check_address(ipaddress.ip_address(address))


@pytest.mark.parametrize(("port", "allowed"), [(1, False), (1023, False), (1024, True), (32767, True), (32768, False)])
def test_ports_are_allowed_to_both_ends(port: int, allowed: bool) -> None:
    place = read_device_url(f"ws://127.0.0.1:{port}")
    if allowed:
        Reach().check_place(place)
        return
    with pytest.raises(UnreachablePlace, match="not among the allowed ports"):
        Reach().check_place(place)


@given(st.ip_addresses(v=4, network="10.20.0.0/16"))
def test_a_mapped_address_is_judged_as_the_address_in_it(address: ipaddress.IPv4Address) -> None:
    reach = Reach((ipaddress.ip_network("10.20.0.0/16"),))
    mapped = ipaddress.IPv6Address(b"\x00" * 10 + b"\xff\xff" + address.packed)
    assert unmapped(mapped) == address
    reach.check_address(mapped)
    with pytest.raises(UnreachablePlace):
        Reach().check_address(mapped)


@given(st.text(max_size=60) | st.from_regex(r"wss?://[0-9a-fx.:\[\]%@]{1,30}:[0-9]{1,5}[/?#a-z]{0,5}", fullmatch=True))
def test_whatever_is_read_has_one_form_and_anything_else_is_refused(text: str) -> None:
    try:
        place = read_device_url(text)
    except UnreachablePlace:
        return
    assert read_device_url(place.url) == place
