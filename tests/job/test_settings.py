"""Settings: kept as they are, and never in the way whatever has become of them."""

from __future__ import annotations

import math
import os
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer.errors import UsageError
from viewer.job import (
    Calibration,
    Settings,
    change_settings,
    folders,
    load_settings,
    save_settings,
    settings_file,
    settings_path,
)
from viewer.job.settings import MOST_RECENT_FILES
from viewer.job.settings_file import LARGEST_FILE_BYTES, settings_to_text

DESK = Calibration("HDMI-1 \u201cleft\u201d", (1920, 1080), 3.7795275590551185)
FULL = Settings(
    ui_scale=1.25,
    theme="dark",
    snapping=False,
    recent_files=("/quay/mug.svg", '/quay/wh"istle\n.pdf'),
    calibrations=(DESK, Calibration("", (3840, 2160), 6.0)),
    window_px=(1600, 1000),
    last_folder="/quay/b\u00f6\u00f6te",
    unknown={"tide": 3, "later": {"deep": [1, 2.5, {"a": "b"}]}},
)

text = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
px = st.integers(1, 100_000)
calibrations = st.builds(Calibration, text, st.tuples(px, px), st.floats(0.1, 1000.0))
some_settings = st.builds(
    Settings,
    ui_scale=st.floats(0.8, 2.0),
    theme=st.sampled_from(["light", "dark", "system"]),
    snapping=st.booleans(),
    recent_files=st.lists(text, max_size=MOST_RECENT_FILES).map(tuple),
    calibrations=st.lists(calibrations, max_size=3).map(tuple),
    window_px=st.none() | st.tuples(px, px),
    last_folder=text,
    unknown=st.dictionaries(
        text.map(lambda t: f"later {t}"), st.integers(-9, 9) | text | st.lists(text), max_size=3
    ),
)


def test_without_a_file_they_are_the_usual_ones_and_nothing_is_said(home: Path) -> None:
    assert load_settings() == settings_file.LoadedSettings(Settings())
    assert not home.exists()


def test_kept_and_found_again(home: Path) -> None:
    assert save_settings(FULL) == ""
    assert load_settings() == settings_file.LoadedSettings(FULL)
    assert settings_path() == str(home / "settings.toml")
    assert [path.name for path in home.iterdir()] == ["settings.toml"]


@given(some_settings)
def test_any_settings_are_read_back(settings: Settings) -> None:
    values = tomllib.loads(settings_to_text(settings))
    assert settings_file._settings_of(values, "x") == (settings, [])


def test_keys_of_another_version_stay(home: Path) -> None:
    home.mkdir()
    (home / "settings.toml").write_text(
        'theme = "dark"\ntide = 3\n[later]\ndeep = [1, 2]\n', encoding="utf-8"
    )
    found = change_settings(lambda s: replace(s, snapping=False))
    assert found.notice == "" and found.settings.theme == "dark"
    values = tomllib.loads((home / "settings.toml").read_text(encoding="utf-8"))
    assert values["tide"] == 3 and values["later"] == {"deep": [1, 2]}
    assert values["snapping"] is False


def test_a_change_keeps_what_another_window_has_kept(home: Path) -> None:
    mine = load_settings().settings
    save_settings(replace(mine, recent_files=("/quay/theirs.svg",)))
    change_settings(lambda s: s.with_recent("/quay/ours.svg"))
    assert load_settings().settings.recent_files == ("/quay/ours.svg", "/quay/theirs.svg")


def test_nothing_is_written_where_nothing_changes(home: Path) -> None:
    change_settings(lambda s: s)
    assert not home.exists()


# --- wrong files ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "content",
    [
        b"theme = ",
        b"\xff\xfe\x00",
        b"\0" * 100,
        b"a = " + b"[" * 5000,
        b"#" * (LARGEST_FILE_BYTES + 1),
    ],
    ids=["cut", "other text", "zeros", "deep", "large"],
)
def test_a_spoilt_file_is_set_aside_and_told(home: Path, content: bytes) -> None:
    home.mkdir()
    path = home / "settings.toml"
    path.write_bytes(content)
    found = load_settings()
    aside = home / "settings-set-aside-1.toml"
    assert found.settings == Settings()
    assert found.notice.startswith(f"{path}: ") and str(aside) in found.notice
    assert found.notice.isprintable()
    assert aside.read_bytes() == content and not path.exists()
    assert load_settings().notice == ""
    assert save_settings(FULL) == "" and load_settings().settings == FULL


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ('ui_scale = "big"', "ui_scale must be a number"),
        ("ui_scale = 9", "ui_scale: the UI scale must be from 0.8 to 2, not 9"),
        ("ui_scale = nan", "ui_scale must be a plain number"),
        ('theme = "loud"', "theme must be one of"),
        ("snapping = 1", "snapping must be true or false, not 1"),
        ('recent_files = "a.svg"', "recent_files must be texts"),
        ("recent_files = [1]", "recent_files must be texts"),
        ("window_px = 5", "window_px must be two whole numbers of pixels"),
        ("window_px = [0, 5]", "window_px must be two whole numbers"),
        ("window_px = [1.5, 5]", "window_px must be two whole numbers"),
        ("window_px = [true, 5]", "window_px must be two whole numbers"),
        ("last_folder = 5", "last_folder must be text in quotes"),
        ("calibration = 5", "calibration must be tables"),
        ("[[calibration]]\nmonitor = 'a'", "[[calibration]] number 1: size_px must be two whole"),
        (
            "[[calibration]]\nmonitor = 'a'\nsize_px = [10, 10]\npx_per_mm = 0",
            "[[calibration]] number 1: pixels per mm must be from 0.1 to 1000, not 0",
        ),
    ],
)
def test_one_bad_value_takes_its_default_and_the_others_stay(
    home: Path, line: str, problem: str
) -> None:
    home.mkdir()
    path = home / "settings.toml"
    good = "tide = 3\n" + ("" if "theme" in line else 'theme = "dark"\n')
    path.write_text(good + line, encoding="utf-8")
    found = load_settings()
    wanted = Settings(unknown={"tide": 3}, theme="system" if "theme" in line else "dark")
    assert found.settings == wanted
    assert problem in found.notice and found.notice.count(str(path)) == 1
    assert "\n" not in found.notice
    assert (home / "settings-set-aside-1.toml").read_text(encoding="utf-8") == good + line
    assert load_settings() == settings_file.LoadedSettings(wanted)


def test_set_aside_files_do_not_pile_up(home: Path) -> None:
    home.mkdir()
    for number in range(15):
        (home / "settings.toml").write_text(f"bad {number}", encoding="utf-8")
        assert "set aside" in load_settings().notice
    assert len(list(home.iterdir())) == 9
    assert (home / "settings-set-aside-1.toml").read_text(encoding="utf-8") == "bad 0"
    assert (home / "settings-set-aside-9.toml").read_text(encoding="utf-8") == "bad 14"


def test_a_bad_file_that_cannot_be_moved(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    home.mkdir()
    (home / "settings.toml").write_text("bad", encoding="utf-8")

    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "replace", refuse)
    found = load_settings()
    assert found.settings == Settings()
    assert found.notice.endswith("it could not be set aside (Permission denied)")


def test_a_file_that_cannot_be_read_is_left_alone(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home.mkdir()
    (home / "settings.toml").mkdir()
    found = load_settings()
    assert found.settings == Settings() and "(Is a directory)" in found.notice
    assert save_settings(FULL).startswith("the settings are not kept: ")
    (home / "settings.toml").rmdir()
    save_settings(FULL)

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    with monkeypatch.context() as patch:
        patch.setattr("builtins.open", refuse)
        found = change_settings(lambda s: replace(s, theme="light"))
    assert found.is_unread and "(Permission denied)" in found.notice
    assert found.settings == Settings(theme="light")
    assert load_settings().settings == FULL


def test_places_that_cannot_be_written_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_bytes(b"")
    monkeypatch.setenv("BRIMCHECK_CONFIG", str(tmp_path / "file" / "home"))
    assert load_settings().settings == Settings()
    notice = save_settings(FULL)
    assert notice.startswith("the settings are not kept: ") and "cannot be made" in notice
    assert change_settings(lambda s: replace(s, theme="dark")).settings.theme == "dark"
    monkeypatch.setenv("BRIMCHECK_CONFIG", str(tmp_path / "home"))
    save_settings(Settings())
    monkeypatch.setattr(os, "access", lambda *_: False)
    assert "write-protected" in save_settings(FULL)


def test_a_read_only_folder(home: Path) -> None:
    save_settings(Settings())
    home.chmod(0o500)
    try:
        if os.access(home, os.W_OK):
            pytest.skip("this user may write everywhere")
        assert "Permission denied" in save_settings(FULL)
        assert load_settings().settings == Settings()
    finally:
        home.chmod(0o700)


def test_names_that_are_no_text(home: Path) -> None:
    assert "not kept" in save_settings(Settings(last_folder="/a\udcff"))
    assert "not kept" in save_settings(Settings(unknown={"odd": object()}))
    assert list(home.iterdir()) == []


def test_a_home_that_is_nowhere(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BRIMCHECK_CONFIG", "here")
    found = load_settings()
    assert found.settings == Settings() and "is no place to keep settings in" in found.notice
    assert "not kept" in save_settings(FULL)
    assert list(tmp_path.iterdir()) == []


def test_the_platform_says_where(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("BRIMCHECK_CONFIG", raising=False)
    monkeypatch.setattr(folders.platformdirs, "user_config_dir", lambda *_, **__: str(tmp_path))
    monkeypatch.setattr(folders.platformdirs, "user_state_dir", lambda *_, **__: str(tmp_path))
    assert settings_path() == str(tmp_path / "settings.toml")
    assert folders.unsaved_folder() == str(tmp_path / "unsaved")


# --- the value --------------------------------------------------------------------------------


def test_recent_files_are_newest_first_each_once_and_not_too_many() -> None:
    settings = Settings()
    for number in range(MOST_RECENT_FILES + 3):
        settings = settings.with_recent(f"/quay/{number}.svg")
    assert len(settings.recent_files) == MOST_RECENT_FILES
    assert settings.recent_files[0] == f"/quay/{MOST_RECENT_FILES + 2}.svg"
    again = settings.with_recent("/quay/10.svg")
    assert again.recent_files[0] == "/quay/10.svg"
    assert sorted(again.recent_files) == sorted(settings.recent_files)
    assert "/quay/10.svg" not in again.without_recent("/quay/10.svg").recent_files


def test_one_calibration_for_each_monitor_and_resolution() -> None:
    settings = Settings().with_calibration(DESK)
    assert settings.px_per_mm(DESK.monitor, (1920, 1080)) == DESK.px_per_mm
    assert settings.px_per_mm(DESK.monitor, (1280, 720)) is None
    assert settings.px_per_mm("other", (1920, 1080)) is None
    again = settings.with_calibration(replace(DESK, px_per_mm=4.0))
    assert again.calibrations == (replace(DESK, px_per_mm=4.0),)
    other = again.with_calibration(replace(DESK, size_px=(1280, 720)))
    assert len(other.calibrations) == 2


@pytest.mark.parametrize(
    "changes",
    [
        {"ui_scale": 0.79},
        {"ui_scale": 2.01},
        {"ui_scale": math.nan},
        {"theme": "loud"},
        {"window_px": (0, 5)},
        {"window_px": (5, 100_001)},
    ],
)
def test_settings_that_cannot_be(changes: dict[str, object]) -> None:
    with pytest.raises(UsageError):
        replace(Settings(), **changes)  # type: ignore[arg-type]
    with pytest.raises(UsageError):
        Calibration("a", (10, 10), math.inf)
