"""Making kits: what is written, what is left alone, what is refused."""

import json
from pathlib import Path

import pytest

from stitchcraft.errors import SpecError
from stitchcraft.kit import make_kit

SAMPLES = Path(__file__).parents[2] / "samples"
SMALL = 'parts = ["tab"]\n[bag]\nwidth = 240\nheight = 200\n[machine]\nformats = ["dst", "pes"]\n'
PLAIN = SMALL + '[style]\ndecoration = { kind = "none" }\n'


def spec_file(folder: Path, text: str) -> Path:
    path = folder / "bag.toml"
    path.write_text(text, encoding="utf-8")
    return path


def tree(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }


def test_kit_holds_a_file_for_each_part_and_format_and_a_report(tmp_path):
    make_kit(spec_file(tmp_path, PLAIN), tmp_path / "kit")
    names = set(tree(tmp_path / "kit"))
    assert {"tab-front.dst", "tab-front.pes", "tab-back.dst", "tab-back.pes"} <= names
    assert {"report.json", "preview.png", "preview.svg", "player.html"} <= names
    assert {"worksheet.pdf", "templates.pdf", "cut/tab-front.svg", "cut/panel-front.svg"} <= names


def test_heron_kit_has_every_part_of_the_contract(tmp_path):
    kit = make_kit(SAMPLES / "heron_tote.toml", tmp_path / "kit")
    assert {part.name for part in kit.parts} == {
        "tab-front", "tab-back", "corner-left", "corner-right", "connector-front", "connector-back", "label",
        "shaping-marks",
    }  # fmt: skip
    assert kit.ok
    report = json.loads((tmp_path / "kit" / "report.json").read_text(encoding="utf-8"))
    # the numbers of the written contract, worked by hand from 14 x 12 x 4 in
    assert report["bag"]["panel_cut_mm"] == pytest.approx([368.3, 311.15])
    assert report["bag"]["standing_mm"] == pytest.approx([254.0, 101.6, 254.0])
    assert report["bag"]["binding_mm"] == pytest.approx([63.5, 812.8])
    assert report["bag"]["feet_mm"][0] == pytest.approx([107.0, 30.8])
    assert report["bag"]["lean_deg"] == pytest.approx(13.2, abs=0.05)
    for part in report["parts"]:
        for fmt in ("dst", "pes", "jef", "exp", "vp3"):
            assert (tmp_path / "kit" / part["files"][fmt]).stat().st_size > 100


def test_same_spec_gives_the_same_bytes(tmp_path):
    spec = spec_file(tmp_path, PLAIN)
    make_kit(spec, tmp_path / "one")
    make_kit(spec, tmp_path / "two")
    assert tree(tmp_path / "one") == tree(tmp_path / "two")


def test_new_kit_takes_the_place_of_the_earlier_one_whole(tmp_path):
    make_kit(spec_file(tmp_path, PLAIN), tmp_path / "kit")
    make_kit(spec_file(tmp_path, PLAIN.replace('["dst", "pes"]', '["exp"]')), tmp_path / "kit")
    names = set(tree(tmp_path / "kit"))
    assert "tab-front.exp" in names
    assert "tab-front.dst" not in names
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_failure_midway_leaves_the_earlier_kit_as_it_was(tmp_path, monkeypatch):
    spec = spec_file(tmp_path, PLAIN)
    make_kit(spec, tmp_path / "kit")
    before = tree(tmp_path / "kit")

    def fails(_kit, **_options):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("stitchcraft.kit.make.preview_png", fails)
    with pytest.raises(SpecError, match="No space left"):
        make_kit(spec, tmp_path / "kit")
    assert tree(tmp_path / "kit") == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bag.toml", "kit"]


def test_folder_with_other_things_is_refused_and_untouched(tmp_path):
    (tmp_path / "papers").mkdir()
    (tmp_path / "papers" / "letter.txt").write_text("keep me", encoding="utf-8")
    with pytest.raises(SpecError, match="holds other things"):
        make_kit(spec_file(tmp_path, PLAIN), tmp_path / "papers")
    assert tree(tmp_path / "papers") == {"letter.txt": b"keep me"}


def test_part_that_fits_no_field_is_an_error_with_a_remedy(tmp_path):
    text = PLAIN.replace("[machine]", '[machine]\nhoops = ["100x100"]')
    kit = make_kit(spec_file(tmp_path, text), tmp_path / "kit")
    assert not kit.ok
    findings = [finding for finding in kit.findings if finding.code == "hoop-fit"]
    assert {finding.part for finding in findings} == {"tab-front", "tab-back"}
    assert "It needs a field of" in findings[0].remedy
    assert "%" in findings[0].remedy
    # following the remedy: a field of the size that it names
    field = findings[0].remedy.split("field of ")[1].split(" mm")[0]
    assert make_kit(spec_file(tmp_path, text.replace("100x100", field)), tmp_path / "kit").ok


def test_closure_lengths_that_disagree_are_one_error_with_the_number(tmp_path):
    text = PLAIN + "[tab]\nlength = 140\nsnap = { inset = 25 }\n[closure]\ndrop = 60\n"
    kit = make_kit(spec_file(tmp_path, text), tmp_path / "kit")
    errors = [finding for finding in kit.findings if finding.level == "error"]
    # by hand: 140 - 25 - 6.35 - 4 = 104.65, against 60
    assert [finding.code for finding in errors] == ["closure-miss"]
    assert errors[0].measured == pytest.approx(44.65)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("width = 240", "width = -240", ["bag.width", "-240"]),
        ("width = 240", "width = nan", ["bag.width"]),
        ("width = 240", 'width = "wide"', ["bag.width", "wide"]),
        ("width = 240", "wdith = 240", ["wdith", "width"]),
        ("height = 200", "height = 200\ndepth = 260", ["depth"]),
        ('["dst", "pes"]', '["dst", "doc"]', ["formats", "doc"]),
        ('kind = "none"', 'kind = "plaid"', ["plaid"]),
        ('["tab"]', '["tab", "sleeve"]', ["sleeve"]),
    ],
)
def test_bad_spec_is_one_clear_line_and_nothing_is_written(tmp_path, old, new, words):
    assert old in PLAIN
    with pytest.raises(SpecError) as caught:
        make_kit(spec_file(tmp_path, PLAIN.replace(old, new)), tmp_path / "kit")
    line = str(caught.value)
    assert "\n" not in line
    assert "bag.toml" in line
    for word in words:
        assert word in line
    assert not (tmp_path / "kit").exists()


def test_error_that_shows_only_when_parts_are_made_names_its_line(tmp_path):
    text = PLAIN + "[tab]\nwidth = 60\nlength = 42\ntip = 'leaf'\n"
    with pytest.raises(SpecError, match=r"bag\.toml:\d+: tab\.length"):
        make_kit(spec_file(tmp_path, text), tmp_path / "kit")


def test_a_margin_that_leaves_no_field_is_named_with_its_line(tmp_path):
    with pytest.raises(SpecError, match=r"bag\.toml:\d+: machine\.margin is 60"):
        make_kit(spec_file(tmp_path, PLAIN.replace("[machine]", "[machine]\nmargin = 60")), tmp_path / "kit")
