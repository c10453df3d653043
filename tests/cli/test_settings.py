"""Settings: read from the environment, checked, and every one explained."""

from __future__ import annotations

import sys
from dataclasses import fields
from pathlib import Path

import pytest

from webapp.config import SettingError, Settings, default_data_folder, known_variables


def test_without_variables_the_defaults_hold(tmp_path: Path) -> None:
    settings = Settings.from_environment({}, data=tmp_path)
    assert settings.database_url == f"sqlite:///{tmp_path.as_posix()}/wayround.sqlite3"
    assert settings.photos_url == str(tmp_path / "photos")
    assert (settings.port, settings.plain, settings.secure_cookies) == (8443, False, True)


@pytest.mark.parametrize(
    ("plain", "host", "listens"),
    [("no", "", "0.0.0.0"), ("yes", "", "127.0.0.1"), ("yes", "10.0.0.5", "10.0.0.5")],
)
def test_without_tls_it_listens_beyond_this_machine_only_when_told(plain: str, host: str, listens: str) -> None:
    settings = Settings.from_environment({"WAYROUND_PLAIN": plain, "WAYROUND_HOST": host})
    assert settings.listen_host == listens


def test_the_cookie_is_secure_behind_a_proxy_that_does_tls() -> None:
    behind = {"WAYROUND_PLAIN": "1", "WAYROUND_ADDRESS": "https://shop.example/"}
    settings = Settings.from_environment(behind)
    assert settings.secure_cookies and settings.address == "https://shop.example"
    assert not Settings.from_environment({"WAYROUND_PLAIN": "1"}).secure_cookies


@pytest.mark.parametrize(
    ("variable", "value"),
    [
        ("WAYROUND_PORT", "http"),
        ("WAYROUND_PORT", "70000"),
        ("WAYROUND_PORT", "-1"),
        ("WAYROUND_PLAIN", "maybe"),
        ("WAYROUND_LOG_LEVEL", "loud"),
        ("WAYROUND_ADDRESS", "shop-pc.local"),
        ("WAYROUND_ADDRESS", "https://shop.example/wayround"),
        ("WAYROUND_DATABASE", "not a url"),
        ("WAYROUND_DATA", __file__),
        ("WAYROUND_MAX_BODY", "12"),
        ("WAYROUND_THREADS", "0"),
        ("WAYROUND_PLIAN", "yes"),
    ],
)
def test_a_wrong_setting_is_named_with_its_mend(variable: str, value: str) -> None:
    with pytest.raises(SettingError) as caught:
        Settings.from_environment({variable: value})
    assert caught.value.variable == variable and str(caught.value).startswith(f"{variable}: ")
    assert caught.value.problem and caught.value.mend


def test_an_option_wins_over_the_variable_and_none_does_not() -> None:
    environ = {"WAYROUND_PORT": "9000", "WAYROUND_NAMES": "shop.lan, 10.0.0.9,"}
    assert Settings.from_environment(environ, port=9001).port == 9001
    settings = Settings.from_environment(environ, port=None)
    assert settings.port == 9000 and settings.names == ("shop.lan", "10.0.0.9")


def test_every_setting_but_the_demo_mark_has_a_variable_and_a_help_text() -> None:
    known = known_variables()
    assert {name for name, _ in known.values()} == {spec.name for spec in fields(Settings)} - {"demo"}
    assert all(variable.startswith("WAYROUND_") and help_text for variable, (_, help_text) in known.items())


@pytest.mark.parametrize(
    ("platform", "variable", "wanted"),
    [
        # XDG Base Directory Specification; Apple File System Programming Guide; Windows known folders.
        ("linux", "XDG_DATA_HOME", "wayround"),
        ("win32", "LOCALAPPDATA", "Wayround"),
    ],
)
def test_the_data_folder_follows_the_platform(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, platform: str, variable: str, wanted: str
) -> None:
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setenv(variable, str(tmp_path))
    assert default_data_folder() == tmp_path / wanted


def test_the_data_folder_without_any_hint(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    assert default_data_folder() == tmp_path / ".local" / "share" / "wayround"
    monkeypatch.setattr(sys, "platform", "darwin")
    assert default_data_folder() == tmp_path / "Library" / "Application Support" / "Wayround"
