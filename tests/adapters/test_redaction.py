"""Keys and tokens are never written; names aren't where nobody wants them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.adapters.redaction import NEVER_WRITTEN, WORDS_LEFT_OUT, Redaction
from fleet.model.observation import Answer, CommandAnswer
from fleet.model.settings import Cause
from fleet.protocol import messages
from tests.adapters.fake_device import PACK
from tests.adapters.rig import Rig, command
from tests.adapters.tape import ReplayRig, record
from tests.virtual_time import run_virtual

CANARY = "canary-7f3a"


@pytest.mark.parametrize("names", [False, True])
@pytest.mark.parametrize(
    "message",
    [
        {"params": {"changes": {"encryption_key": CANARY}}},
        {"params": {"token": CANARY}},
        {"result": {"settings": [{"address": PACK, "settings": {"key": CANARY, "Bearer": CANARY}}]}},
        {"result": {"secrets": {"deep": [CANARY]}, "access_tokens": [CANARY]}},
        {"method": "act", "params": {"act": "hush", "arguments": {"phrase": CANARY}}},
        {"result": {"description": {"capabilities": [{"field": "key", "password": CANARY}]}}},
    ],
)
def test_keys_and_tokens_are_never_written(message: dict[str, object], names: bool) -> None:
    for text in (json.dumps(message), json.dumps(message).replace("e", "\\u0065")):
        written = Redaction(names=names).text_of(text.encode())
        assert written is None or CANARY not in written


def test_a_message_that_is_no_json_is_withheld_where_it_might_hold_a_key() -> None:
    assert Redaction(names=False).text_of(b'{"key": "canary') is None
    assert Redaction(names=True).text_of(b"\xff\x00") is None
    assert Redaction(names=True).text_of(b"[" * 100_000) is None


def test_a_message_without_keys_is_written_as_it_came() -> None:
    data = b'{"jsonrpc":"2.0", "method":"notice","params":{"words":"Fiddler"}}'
    assert Redaction(names=False).text_of(data) == data.decode()


@given(st.dictionaries(st.sampled_from(["name", "label", "token", "low_cut_hz"]), st.text(min_size=1) | st.integers()))
def test_no_free_text_survives_and_nothing_else_is_touched(settings: dict[str, str | int]) -> None:
    redacted = Redaction(names=True).settings(settings)
    assert redacted.keys() == settings.keys()
    for field, value in settings.items():
        kept = redacted[field]
        if field == "token":
            assert kept == NEVER_WRITTEN
        elif isinstance(value, str):
            assert isinstance(kept, str)
            assert kept.startswith("Name ")
        else:
            assert kept == value


def test_a_name_has_one_invented_name_throughout() -> None:
    redaction = Redaction(names=True)
    first = redaction.settings({"name": "Fiddler"})
    assert redaction.settings({"name": "Crier"}) != first
    assert redaction.settings({"label": "Fiddler"}) == {"label": first["name"]}
    said = redaction.text_of(b'{"params":{"settings":{"name":"Fiddler"},"words":"Fiddler, wake up"}}')
    assert said == json.dumps({"params": {"settings": first, "words": WORDS_LEFT_OUT}}, separators=(",", ":"))


def test_a_redacted_recording_holds_no_name_and_plays_back(tmp_path: Path) -> None:
    async def doing(rig: Rig) -> None:
        await rig.device.say(rig.device.change(PACK, {"name": "Ferryman", "token": CANARY}, Cause.PANEL))
        await rig.device.say(messages.Notice("cells low", "Ferryman: change the cells."))
        rig.device.mood = "refuse"
        await rig.adapter.write(command(name="Harbourmaster"))

    async def main() -> None:
        file = tmp_path / "quay-1.jsonl"
        recorded = await record(file, doing, names=True)
        written = file.read_text()
        for name in ("Fiddler", "Ferryman", "Harbourmaster", "Quay", "at most 160", CANARY):
            assert name not in written
        rig = ReplayRig(file)
        await rig.play_to_the_end()
        assert len(rig.heard.items) == len(recorded.heard.items)
        names = [report.settings["name"] for report in rig.heard.reports if report.address == PACK]
        assert len(set(names)) == 2
        assert all(str(name).startswith("Name ") for name in names)

    run_virtual(main())


@pytest.mark.parametrize("names", [True, False])
def test_no_key_of_an_outcome_is_written(names: bool) -> None:
    told = CommandAnswer("c1", Answer.DONE, "", {}, {"key": "ABCD", "key_fingerprint": "4f2a"})
    written = Redaction(names=names).answer(told)
    assert "ABCD" not in str(written)
