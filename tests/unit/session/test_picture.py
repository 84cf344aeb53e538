"""Pictures' files: names, sizes, folders, captions, and two states of a scene side by side."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from falloff.document import parse_document
from falloff.errors import DocumentError, OutputError
from falloff.session.picture import (
    Pictures,
    _captions,
    prepare_folder,
    run_picture,
    sizes_of,
    stems_of,
)
from falloff.session.scene import Scene, known_names, open_scene, setup_light
from falloff.transport import Budget

from .test_scene import TEXT, written


@pytest.fixture(autouse=True)
def _few_rays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files are looked at here, not light; and the cache is kept apart."""
    few = Budget(view_rays=1, gather_rays=2, shadow_rays=1, row_rays=16, reading_replicates=2)
    monkeypatch.setattr("falloff.session.picture.PICTURE_BUDGET", few)
    monkeypatch.setattr("falloff.layers.store._cache_folder", lambda: tmp_path / "cache")


def named(*names: str, title: str = "Two ways") -> Scene:
    """A scene of setups with these names, none of which is built."""
    setups = "\n".join(
        f"  {name}: {{camera: WIDE, stop: T2.8, iso: 800, shutter: 180 deg}}" for name in names
    )
    text = TEXT.split("setups:")[0].replace("title: Two ways", f"title: {title}")
    document = parse_document(f"{text}setups:\n{setups}\n", "x.scene.yaml", known=known_names())
    return Scene(document, tuple(document.setups), ())


def test_file_names_keep_letters_of_any_script() -> None:
    stems = stems_of(named("ΓΕΝΙΚΟ ΠΛΑΝΟ", "مشهد واسع", "広い画", title="Κουζίνα"))
    assert stems == {
        "ΓΕΝΙΚΟ ΠΛΑΝΟ": "κουζίνα-γενικο-πλανο",
        "مشهد واسع": "κουζίνα-مشهد-واسع",
        "広い画": "κουζίνα-広い画",
    }


def test_no_two_file_names_are_alike_in_any_case() -> None:
    stems = stems_of(named("WIDE", "Wide", "wide 2", "WIDE-2", '"!"', '"?"'))
    values = [stem.casefold() for stem in stems.values()]
    assert len(set(values)) == 6
    assert all("/" not in stem and "." not in stem for stem in stems.values())


def test_a_name_cannot_climb_out_of_the_folder() -> None:
    (stem,) = stems_of(named('"../../up"', title='"/root"')).values()
    assert stem == "root-up"


def test_a_long_name_is_cut() -> None:
    (stem,) = stems_of(named("A" * 200, title="B" * 300)).values()
    assert len(stem) <= 161  # pencil: 80 letters, a dash, 80 letters


def test_sizes_follow_each_cameras_aspect(tmp_path: Path) -> None:
    scene = open_scene(written(tmp_path))
    wide, *_, no_box = scene.arrangements
    assert sizes_of(wide, wide.setups, 320) == {"WIDE": (320, 180)}  # pencil: 320 · 9/16
    assert sizes_of(no_box, ("NO BOX",), 320) == {"LONG": (320, 160)}  # pencil: 320 / 2


def test_captions_tell_lens_height_exposure_and_dims() -> None:
    document = parse_document(TEXT, "x.scene.yaml", known=known_names())
    lens, exposure = _captions(document, setup_light(document, "ROOM"))
    assert lens == "WIDE, 18 mm, 1.50 m up"
    assert "T2.8" in exposure
    assert "ISO 800" in exposure
    *_, dims = _captions(document, setup_light(document, "DIM"))
    assert dims == "Dims: GLOBE 25 %"


def test_a_folder_is_made_and_left_empty(tmp_path: Path) -> None:
    out = tmp_path / "a" / "b"
    prepare_folder(out)
    assert list(out.iterdir()) == []
    (tmp_path / "file").touch()
    with pytest.raises(OutputError, match="results cannot be written here"):
        prepare_folder(tmp_path / "file" / "below")


@pytest.fixture
def pictures(tmp_path: Path) -> Pictures:
    """All setups of a scene, set beside an earlier state in which the lamp gave half."""
    path = written(tmp_path)
    before = tmp_path / "before.scene.yaml"
    text = TEXT.replace("800 lm", "400 lm").replace("  DIM:", "  ONCE:")
    before.write_text(text, encoding="utf-8")
    return run_picture(path, out=tmp_path / "out", width=160, before=before)


def test_all_setups_stand_on_one_sheet_and_beside_what_they_were(
    pictures: Pictures, tmp_path: Path
) -> None:
    assert [one.setup for one in pictures.files] == ["ROOM", "LAMP LOW", "DIM", "NO BOX"]
    assert pictures.contact_sheet is not None
    # Those that both have, in the earlier one's order.
    assert [one.setup for one in pictures.changes] == ["ROOM", "LAMP LOW", "NO BOX"]
    for one in pictures.changes:
        # pencil: twice the light is one stop more, everywhere that is lit
        assert one.change.median_stops == pytest.approx(1.0, abs=0.1)
        assert one.change.changed_share > 0.8
    paths = [one.sheet for one in pictures.changes] + [pictures.contact_sheet]
    for files in pictures.files:
        paths += [files.picture, files.stops_map, files.waveform, files.histogram, files.layers]
    out = tmp_path / "out"
    assert sorted(out.iterdir()) == sorted(paths)
    for path in paths:
        if path.suffix == ".png":
            with Image.open(path) as picture:
                assert picture.size[0] >= 160


def test_one_setup_has_no_sheet_of_all(tmp_path: Path) -> None:
    result = run_picture(written(tmp_path), out=tmp_path / "out", width=160, setups=("ROOM",))
    assert result.contact_sheet is None
    assert result.changes == ()


def test_two_scenes_without_a_setup_in_common_are_told_before_anything_is_written(
    tmp_path: Path,
) -> None:
    path = written(tmp_path)
    before = tmp_path / "before.scene.yaml"
    text = TEXT.split("setups:")[0] + "setups:\n"
    before.write_text(
        text + "  OTHER: {camera: WIDE, stop: T2.8, iso: 800, shutter: 180 deg}\n",
        encoding="utf-8",
    )
    with pytest.raises(DocumentError, match="no setup in common") as caught:
        run_picture(path, out=tmp_path / "out", width=160, before=before)
    assert "OTHER" in caught.value.faults[0].found
    assert not (tmp_path / "out").exists()
