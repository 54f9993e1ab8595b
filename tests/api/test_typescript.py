"""The screen's types are those of the API, and stay so."""

import json
from pathlib import Path

from api import typescript
from api.shapes import components
from fleet.model.event import Recorded
from fleet.model.quality import Quality


def test_the_screen_types_are_up_to_date() -> None:
    assert typescript.drifted() == [], "run `python -m api.typescript --write`"


def test_a_changed_missing_or_superfluous_file_is_drift(tmp_path: Path) -> None:
    typescript.write(tmp_path)
    assert typescript.drifted(tmp_path) == []
    (tmp_path / "live.ts").unlink()
    (tmp_path / "model.ts").write_text("export {};\n")
    (tmp_path / "extra.ts").write_text("export {};\n")
    assert typescript.drifted(tmp_path) == ["extra.ts", "live.ts", "model.ts"]


def test_every_reference_names_a_shape() -> None:
    shapes = components()
    text = json.dumps(shapes)
    for piece in text.split('"#/components/schemas/')[1:]:
        assert piece.split('"', 1)[0] in shapes


def test_events_carry_their_kind_and_sequence() -> None:
    text = typescript.generated()["events.ts"]
    assert '  readonly kind: "settings changed";\n  readonly version: 1;\n' in text
    assert Recorded.__name__ not in {line.split()[2] for line in text.splitlines() if line.startswith("export")}


def test_the_quality_constants_are_the_model_s_numbers() -> None:
    text = typescript.generated()["quality.ts"]
    for member in Quality:
        assert f"  {member.name.capitalize()}: {member.value},\n" in text


def test_no_line_is_longer_than_the_screen_s_formatter_allows() -> None:
    for name, text in typescript.generated().items():
        for line in text.splitlines():
            assert len(line) <= typescript.LINE_WIDTH or line.lstrip().startswith("*"), f"{name}: {line}"
