"""The command line, as a person meets it: in a process of its own."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from stitchcraft.cli import main

SPEC = """
parts = ["tab"]
[bag]
width = 240
height = 200
[machine]
formats = ["dst", "exp"]
[style]
decoration = { kind = "none" }
"""


def run(*words, folder=None):
    return subprocess.run(
        [sys.executable, "-m", "stitchcraft", *map(str, words)],
        capture_output=True, text=True, check=False, cwd=folder, timeout=120,
    )  # fmt: skip


@pytest.fixture(scope="module")
def kit(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("cli")
    (folder / "bag.toml").write_text(SPEC, encoding="utf-8")
    done = run("make", folder / "bag.toml", "-o", folder / "kit")
    assert done.returncode == 0, done.stderr
    assert "tab-front" in done.stdout
    assert done.stderr == ""
    return folder / "kit"


def test_make_prints_a_table_and_writes_the_kit(kit):
    assert (kit / "report.json").exists()


def test_make_json_is_the_report(kit):
    done = run("make", kit.parent / "bag.toml", "-o", kit.parent / "again", "--json")
    report = json.loads((kit.parent / "again" / "report.json").read_text(encoding="utf-8"))
    assert "tab-front.dst" in report.pop("written")  # what only the folder knows
    assert json.loads(done.stdout) == report


def test_check_says_what_a_file_holds_and_fails_when_it_does_not_fit(kit):
    good = run("check", kit / "tab-front.dst", kit / "tab-back.exp", "--hoop", "130x180")
    assert good.returncode == 0
    assert good.stdout.count("to spare") == 2
    small = run("check", kit / "tab-front.dst", "--hoop", "50x50")
    assert small.returncode == 1
    assert "hoop-fit" in small.stderr
    as_json = json.loads(run("check", kit / "tab-front.dst", "--hoop", "50x50", "--json").stdout)
    assert as_json[0]["stitches"] == sum(stop["stitches"] for stop in as_json[0]["stops"])
    assert as_json[0]["findings"][0]["code"] == "hoop-fit"


def test_the_check_of_a_file_loads_no_library_that_it_does_not_need(kit):
    heavy = ("shapely", "scipy", "pyembroidery", "numpy.ma", "reportlab", "PIL")
    code = (
        "import atexit, sys; from stitchcraft.cli import main; "
        f"atexit.register(lambda: print([name for name in {heavy} if name in sys.modules], 'numpy' in sys.modules)); "
        "main(sys.argv[1:])"
    )
    words = [sys.executable, "-c", code, "check", str(kit / "tab-front.dst")]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    assert "stitches in" in done.stdout
    assert done.stdout.splitlines()[-1] == "[] True"


def test_check_draws_the_one_file_and_says_what_its_stops_look_like(kit, tmp_path):
    done = run("check", kit / "tab-back.dst", "--fabric", "denim", "-o", tmp_path / "back.svg")
    assert done.returncode == 0
    assert "looks like running, stitches of 2.0 mm" in done.stdout
    assert "looks like marks" in done.stdout
    assert (tmp_path / "back.svg").read_text(encoding="utf-8").startswith("<svg")
    two = run("check", kit / "tab-back.dst", kit / "tab-front.dst", "-o", tmp_path / "two.svg")
    assert two.returncode == 2
    assert not (tmp_path / "two.svg").exists()


def test_new_writes_a_spec_that_make_accepts(tmp_path):
    assert run("new", tmp_path / "mine.toml", "--name", "Plover pouch").returncode == 0
    text = (tmp_path / "mine.toml").read_text(encoding="utf-8")
    assert "Plover pouch" in text
    again = run("new", tmp_path / "mine.toml")
    assert again.returncode == 2
    assert (tmp_path / "mine.toml").read_text(encoding="utf-8") == text
    done = run("make", tmp_path / "mine.toml", "-o", tmp_path / "kit", "--quiet")
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("suffix", ["svg", "png", "html"])
def test_draw_makes_a_picture_of_a_file_and_of_a_spec(kit, tmp_path, suffix):
    for source, extra in ((kit / "tab-front.dst", []), (kit.parent / "bag.toml", ["--part", "tab-back"])):
        target = tmp_path / f"{source.stem}.{suffix}"
        assert run("draw", source, "-o", target, *extra).returncode == 0
        assert target.read_bytes()[:4] in (b"<svg", b"\x89PNG", b"<!do")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["make", "nowhere.toml", "-o", "kit"], "nowhere.toml"),
        (["make", "bad.toml", "-o", "kit"], "wdith"),
        (["make", "syntax.toml", "-o", "kit"], "syntax.toml:2"),
        (["make", "good.toml"], "output"),
        (["make", "good.toml", "-o", "good.toml"], "is a file"),
        (["check", "empty.dst"], "empty"),
        (["check", "noise.pes"], "noise.pes"),
        (["check", "noise.pes", "--hoop", "big"], "big"),
        (["check", "."], "suffix"),
        (["draw", "good.toml", "-o", "x.bmp"], ".bmp"),
        (["draw", "good.toml", "-o", "x.png", "--part", "sleeve"], "sleeve"),
        *(
            (["draw", "short.toml", "-o", f"x.{suffix}"], "short.toml:7: tab.length is")
            for suffix in ("svg", "png", "html")
        ),
        (["draw", "short.toml", "-o", "x.svg", "--part", "tab-front"], "short.toml:7: tab.length is"),
        (["draw", "short.toml", "-o", "x.png", "--density"], "short.toml:7: tab.length is"),
        (["mkae"], "mkae"),
    ],
)
def test_bad_input_is_one_clear_line_and_status_2(tmp_path, words, says):
    (tmp_path / "good.toml").write_text(SPEC, encoding="utf-8")
    (tmp_path / "bad.toml").write_text(SPEC.replace("width", "wdith"), encoding="utf-8")
    (tmp_path / "syntax.toml").write_text("name = 1\n[bag\n", encoding="utf-8")
    short = '[bag]\nwidth = 150\nheight = 160\n\n[tab]\nwidth = 60\nlength = 40\ntip = "leaf"\n'
    (tmp_path / "short.toml").write_text(short, encoding="utf-8")
    (tmp_path / "empty.dst").write_bytes(b"")
    (tmp_path / "noise.pes").write_bytes(bytes(range(256)) * 4)
    before = sorted(tmp_path.iterdir())
    done = run(*words, folder=tmp_path)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("stitchcraft: ")
    assert done.stderr.count("\n") == 1
    assert says in done.stderr
    assert sorted(tmp_path.iterdir()) == before


def test_a_name_that_cannot_be_leaves_the_spec_that_is_there_as_it_was(tmp_path):
    spec = tmp_path / "bag.toml"
    assert run("new", spec, "--name", "").returncode == 2
    assert not spec.exists()
    spec.write_text(SPEC, encoding="utf-8")
    assert run("new", spec, "--name", "", "--force").returncode == 2
    assert spec.read_text(encoding="utf-8") == SPEC


def test_a_new_spec_for_which_the_disk_has_no_room_leaves_the_one_that_is_there(tmp_path, monkeypatch):
    spec = tmp_path / "bag.toml"
    spec.write_text(SPEC, encoding="utf-8")
    real = Path.write_bytes

    def full(path, data):
        real(path, data[:100])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(SystemExit) as left:
        main(["new", str(spec), "--force"])
    assert left.value.code == 2
    assert {path.name: path.read_text(encoding="utf-8") for path in tmp_path.iterdir()} == {"bag.toml": SPEC}


def test_without_a_command_the_whole_help_is_shown_line_by_line():
    done = run()
    assert done.returncode == 2
    assert len((done.stdout + done.stderr).splitlines()) > 10


def test_findings_of_error_level_set_the_status_but_the_kit_is_written(tmp_path):
    (tmp_path / "bag.toml").write_text(SPEC.replace("[machine]", '[machine]\nhoops = ["50x50"]'), encoding="utf-8")
    done = run("make", "bag.toml", "-o", "kit", folder=tmp_path)
    assert done.returncode == 1
    assert "hoop-fit" in done.stderr
    assert (tmp_path / "kit" / "tab-front.dst").exists()


def test_swatch_then_calibrate_gives_a_fabric_that_a_spec_takes(tmp_path):
    made = run("swatch", "-o", "swatch", "--fabric", "canvas", folder=tmp_path)
    assert made.returncode == 0, made.stderr
    assert "swatch.dst" in {file.name for file in (tmp_path / "swatch").iterdir()}
    sheet = tmp_path / "swatch" / "measured.toml"
    text = sheet.read_text(encoding="utf-8")
    for width in (2, 3, 4, 6, 7):
        text = text.replace(
            f'nominal =  {width}, measured = "?"', f"nominal = {width}, measured = {0.94 * width - 0.2:g}"
        )
    sheet.write_text(text, encoding="utf-8")
    fitted = run("calibrate", "swatch/measured.toml", "-o", "mine.toml", folder=tmp_path)
    assert fitted.returncode == 0, fitted.stderr
    assert "0.100" in fitted.stdout
    assert "residual 0.000 mm" in fitted.stdout
    fabric = (tmp_path / "mine.toml").read_text(encoding="utf-8")
    assert "pull_share = 0.03" in fabric
    (tmp_path / "bag.toml").write_text(SPEC + "[material]\n" + fabric, encoding="utf-8")
    done = run("make", "bag.toml", "-o", "kit", "--quiet", folder=tmp_path)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["swatch"], "output"),
        (["swatch", "-o", "new", "--hoop", "90x90"], "one of 100x100, 130x180"),
        (["swatch", "-o", "new", "--fabric", "silk"], "silk"),
        (["swatch", "-o", "new", "--formats", "dst,abc"], "abc"),
        (["swatch", "-o", "full"], "holds other things"),
        (["calibrate", "nowhere.toml"], "nowhere.toml"),
        (["calibrate", "few.toml"], "1 reading of 1 width"),
        (["calibrate", "odd.toml"], "odd.toml:1"),
        (["calibrate", "fine.toml", "-o", "few.toml"], "is there already"),
        (["calibrate", "fine.toml", "-o", "nowhere/mine.toml"], "cannot be written"),
    ],
)
def test_a_swatch_or_a_sheet_that_cannot_be_is_one_clear_line_and_status_2(tmp_path, words, says):
    (tmp_path / "few.toml").write_text("bar = [{ direction = 0, nominal = 4, measured = 3.7 }]", encoding="utf-8")
    (tmp_path / "odd.toml").write_text("bar = [{ direction = 0, nominal = 4, width = 3.7 }]", encoding="utf-8")
    rows = ", ".join(f"{{ direction = 0, nominal = {width}, measured = {0.9 * width} }}" for width in (2, 4, 7))
    (tmp_path / "fine.toml").write_text(f"bar = [{rows}]", encoding="utf-8")
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "mine.txt").write_text("mine", encoding="utf-8")
    before = sorted(tmp_path.rglob("*"))
    done = run(*words, folder=tmp_path)
    assert (done.returncode, done.stdout, done.stderr.count("\n")) == (2, "", 1)
    assert done.stderr.startswith("stitchcraft: ")
    assert says in done.stderr
    assert sorted(tmp_path.rglob("*")) == before


def test_fault_of_the_program_is_one_line_too_and_has_a_status_of_its_own(tmp_path, monkeypatch, capsys):
    (tmp_path / "bag.toml").write_text(SPEC, encoding="utf-8")

    def breaks(*_words, **_options):
        raise RuntimeError("a belt\nslipped")

    monkeypatch.setattr("stitchcraft.kit.make.read_spec", breaks)
    monkeypatch.delenv("STITCHCRAFT_TRACE", raising=False)
    with pytest.raises(SystemExit) as left:
        main(["make", str(tmp_path / "bag.toml"), "-o", str(tmp_path / "kit")])
    assert left.value.code == 3
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "RuntimeError: a belt slipped" in said
    assert not (tmp_path / "kit").exists()
    monkeypatch.setenv("STITCHCRAFT_TRACE", "1")
    with pytest.raises(RuntimeError):
        main(["make", str(tmp_path / "bag.toml"), "-o", str(tmp_path / "kit")])


def test_compare_says_whether_two_files_or_kits_sew_the_same(kit, tmp_path):
    same = run("compare", kit / "tab-front.dst", kit / "tab-front.exp")
    assert same.returncode == 0
    assert "they sew the same" in same.stdout
    differ = run("compare", kit / "tab-front.dst", kit / "tab-back.dst", "-o", tmp_path / "differ.svg")
    assert differ.returncode == 1
    assert "stop 1" in differ.stdout
    assert (tmp_path / "differ.svg").read_text(encoding="utf-8").startswith("<svg")
    assert json.loads(run("compare", kit, kit, "--json").stdout)["same"] is True
    for bad in (("compare", kit, kit / "tab-front.dst"), ("compare", kit / "none.dst", kit / "tab-front.dst"),
                ("compare", kit / "tab-front.dst", kit / "tab-back.dst", "-o", tmp_path / "x.pdf")):  # fmt: skip
        refused = run(*bad)
        assert refused.returncode == 2
        assert len(refused.stderr.strip().splitlines()) == 1
    assert run("compare", kit, tmp_path / "none").stderr.endswith("none: there is no such file or folder\n")


def test_a_map_of_the_density_is_drawn(kit, tmp_path):
    drawn = run("draw", kit / "tab-front.dst", "-o", tmp_path / "map.png", "--density")
    assert drawn.returncode == 0
    assert (tmp_path / "map.png").read_bytes().startswith(b"\x89PNG")
    assert run("draw", kit / "tab-front.dst", "-o", tmp_path / "map.svg", "--density").returncode == 2


def test_fields_and_formats_are_listed():
    listed = run("fields")
    assert listed.returncode == 0
    assert "5x7 frame" in listed.stdout
    assert "vp3" in listed.stdout
    assert json.loads(run("fields", "--json").stdout)["fields"][0]["width_mm"] == 50


def test_the_list_of_commands_says_of_each_what_it_does_in_full():
    done = run("--help")
    listed = done.stdout.partition("Commands:")[2].strip().splitlines()
    assert len(listed) == 9
    assert all(line.endswith(".") and not line.endswith("...") for line in listed)
