"""Settings: a wrong one stops the start and names itself."""

from __future__ import annotations

from pathlib import Path

import pytest

from portal.config import BadSetting, Settings, Smtp

GOOD = {
    "RILLBOOK_DATABASE_URL": "sqlite:////tmp/rillbook.db",
    "RILLBOOK_SECRET_KEY": "a" * 32,
    "RILLBOOK_BASE_URL": "https://grind.example.org/",
    "RILLBOOK_MAIL_FROM": "desk@example.org",
}


def test_four_settings_are_enough() -> None:
    settings = Settings.from_environment(GOOD)
    assert settings.base_url == "https://grind.example.org"
    assert settings.hostname == "grind.example.org"
    assert settings.is_https
    assert settings.smtp is None
    assert not settings.demo


@pytest.mark.parametrize("name", GOOD)
def test_each_of_the_four_is_missed_by_name(name: str) -> None:
    with pytest.raises(BadSetting, match=f"^{name} is missing"):
        Settings.from_environment({key: value for key, value in GOOD.items() if key != name})


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("RILLBOOK_DATABASE_URL", "mysql://here/db"),
        ("RILLBOOK_DATABASE_URL", "not a url"),
        ("RILLBOOK_DATABASE_URL", "sqlite://"),
        ("RILLBOOK_SECRET_KEY", "short"),
        ("RILLBOOK_SECRET_KEY", "a" * 32 + ",short"),
        ("RILLBOOK_BASE_URL", "grind.example.org"),
        ("RILLBOOK_BASE_URL", "https://example.org/path"),
        ("RILLBOOK_MAIL_FROM", "desk"),
        ("RILLBOOK_MAIL_FROM", "Hollowmere <desk@example.org>"),
        ("RILLBOOK_SMTP_PORT", "0"),
        ("RILLBOOK_SMTP_PORT", "mail"),
        ("RILLBOOK_SMTP_TLS", "maybe"),
        ("RILLBOOK_SMTP_USER", "alone"),
        ("RILLBOOK_TRUSTED_PROXIES", "-1"),
        ("RILLBOOK_DEMO", "true"),
        ("RILLBOOK_SHARED", "/nowhere/at/all"),
        ("RILLBOOK_FALLBACK_FONT", "/nowhere/at/all.ttf"),
        ("RILLBOOK_SECRET_KEY_FILE", "/nowhere/at/all"),
        ("RILLBOOK_SECRETKEY", "misspelt"),
    ],
)
def test_a_malformed_setting_names_itself(name: str, value: str) -> None:
    with pytest.raises(BadSetting, match=name.replace("_FILE", "")):
        Settings.from_environment({**GOOD, name: value})


def test_a_secret_may_come_from_a_file(tmp_path: Path) -> None:
    path = tmp_path / "secret"
    path.write_text("b" * 40 + "\n")
    values = {key: value for key, value in GOOD.items() if key != "RILLBOOK_SECRET_KEY"}
    assert Settings.from_environment({**values, "RILLBOOK_SECRET_KEY_FILE": str(path)}).secret_keys == (
        "b" * 40,
    )


def test_an_old_secret_is_still_accepted_beside_the_new_one() -> None:
    settings = Settings.from_environment({**GOOD, "RILLBOOK_SECRET_KEY": "n" * 32 + ", " + "o" * 32})
    assert settings.secret_keys == ("n" * 32, "o" * 32)


def test_mail_leaves_by_smtp_when_a_host_is_named() -> None:
    values = {
        "RILLBOOK_SMTP_HOST": "mail.example.org",
        "RILLBOOK_SMTP_USER": "u",
        "RILLBOOK_SMTP_PASSWORD": "p",
    }
    assert Settings.from_environment({**GOOD, **values}).smtp == Smtp(
        "mail.example.org", 587, "starttls", "u", "p"
    )
