"""Settings from the environment: the only place that reads it. A wrong setting stops the start and names itself."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal
from urllib.parse import urlsplit

from sqlalchemy import make_url
from sqlalchemy.exc import ArgumentError

PREFIX = "RILLBOOK_"
SECRET_LENGTH = 32


class BadSetting(Exception):
    """A setting is missing or malformed; the message names it and says what it must be."""


@dataclass(frozen=True)
class Smtp:
    """How letters leave the house."""

    host: str
    port: int
    tls: Literal["none", "starttls", "tls"] = "starttls"
    user: str = ""
    password: str = ""


@dataclass(frozen=True)
class Settings:
    """Everything that differs between one installation and another."""

    database_url: str
    secret_keys: tuple[str, ...]
    base_url: str
    mail_from: str
    smtp: Smtp | None = None
    shared_folder: Path | None = None
    fallback_font: Path | None = None
    trusted_proxies: int = 0
    demo: bool = False
    # argon2id with the library's defaults (RFC 9106, low memory); tests spend less.
    cheap_passwords: bool = False

    @property
    def is_https(self) -> bool:
        return self.base_url.startswith("https://")

    @property
    def hostname(self) -> str:
        return urlsplit(self.base_url).hostname or ""

    @classmethod
    def from_environment(cls, environ: Mapping[str, str] | None = None) -> Settings:
        """The settings, or ``BadSetting``."""
        read = _Reader(os.environ if environ is None else environ)
        settings = cls(
            database_url=read.database_url(),
            secret_keys=read.secret_keys(),
            base_url=read.base_url(),
            mail_from=read.mail_from(),
            smtp=read.smtp(),
            shared_folder=read.path("SHARED", folder=True),
            fallback_font=read.path("FALLBACK_FONT", folder=False),
            trusted_proxies=read.number("TRUSTED_PROXIES", 0, least=0, most=5),
            demo=read.flag("DEMO"),
        )
        read.refuse_unknown()
        return settings


class _Reader:
    def __init__(self, environ: Mapping[str, str]) -> None:
        self.values = {k: v for k, v in environ.items() if k.startswith(PREFIX)}
        self.seen: set[str] = set()

    def text(self, name: str, default: str | None = None) -> str:
        full = PREFIX + name
        self.seen |= {full, full + "_FILE"}
        if full in self.values and full + "_FILE" in self.values:
            raise BadSetting(f"Set {full} or {full}_FILE, not both.")
        if full + "_FILE" in self.values:
            try:
                return Path(self.values[full + "_FILE"]).read_text(encoding="utf-8").strip()
            except OSError as error:
                raise BadSetting(
                    f"{full}_FILE names a file that cannot be read: {error.strerror}."
                ) from error
        value = self.values.get(full, "").strip()
        if value:
            return value
        if default is None:
            raise BadSetting(f"{full} is missing. The README lists every setting.")
        return default

    def number(self, name: str, default: int, *, least: int, most: int) -> int:
        text = self.text(name, str(default))
        if not text.isdecimal() or not least <= int(text) <= most:
            raise BadSetting(f"{PREFIX}{name} must be a whole number from {least} to {most}, not “{text}”.")
        return int(text)

    def flag(self, name: str) -> bool:
        text = self.text(name, "no").lower()
        if text not in {"yes", "no"}:
            raise BadSetting(f"{PREFIX}{name} must be yes or no, not “{text}”.")
        return text == "yes"

    def path(self, name: str, *, folder: bool) -> Path | None:
        text = self.text(name, "")
        if not text:
            return None
        path = Path(text)
        if not (path.is_dir() if folder else path.is_file()):
            raise BadSetting(f"{PREFIX}{name} names no {'folder' if folder else 'file'}: {text}")
        return path

    def database_url(self) -> str:
        text = self.text("DATABASE_URL")
        try:
            url = make_url(text)
        except ArgumentError as error:
            raise BadSetting(f"{PREFIX}DATABASE_URL is not a database URL.") from error
        if url.get_backend_name() not in {"sqlite", "postgresql"}:
            raise BadSetting(f"{PREFIX}DATABASE_URL must begin with sqlite:/// or postgresql://.")
        if url.get_backend_name() == "sqlite" and not url.database:
            raise BadSetting(
                f"{PREFIX}DATABASE_URL must name a file, as in sqlite:////var/lib/rillbook/rillbook.db."
            )
        return text

    def secret_keys(self) -> tuple[str, ...]:
        # The first key signs, older ones after commas are still accepted.
        keys = tuple(key.strip() for key in self.text("SECRET_KEY").split(",") if key.strip())
        if not keys or any(len(key) < SECRET_LENGTH for key in keys):
            raise BadSetting(f"{PREFIX}SECRET_KEY must have at least {SECRET_LENGTH} characters.")
        return keys

    def base_url(self) -> str:
        text = self.text("BASE_URL").rstrip("/")
        parts = urlsplit(text)
        if parts.scheme not in {"http", "https"} or not parts.netloc or parts.path:
            raise BadSetting(
                f"{PREFIX}BASE_URL must be the address people type, as in https://grind.example.org."
            )
        return text

    def mail_from(self) -> str:
        text = self.text("MAIL_FROM")
        if not re.fullmatch(r"[^@\s<>\"',;:]+@[^@\s<>\"',;:]+", text):
            raise BadSetting(f"{PREFIX}MAIL_FROM must be a bare e-mail address, without a name.")
        return text

    def smtp(self) -> Smtp | None:
        host = self.text("SMTP_HOST", "")
        port = self.number("SMTP_PORT", 587, least=1, most=65535)
        tls = self.text("SMTP_TLS", "starttls")
        user, password = self.text("SMTP_USER", ""), self.text("SMTP_PASSWORD", "")
        if tls not in {"none", "starttls", "tls"}:
            raise BadSetting(f"{PREFIX}SMTP_TLS must be none, starttls or tls, not “{tls}”.")
        if bool(user) != bool(password):
            raise BadSetting(f"Set both {PREFIX}SMTP_USER and {PREFIX}SMTP_PASSWORD, or neither.")
        return Smtp(host, port, tls, user, password) if host else None  # type: ignore[arg-type]

    def refuse_unknown(self) -> None:
        unknown = sorted(set(self.values) - self.seen)
        if unknown:
            raise BadSetting(f"{unknown[0]} is no setting of ours. The README lists every setting.")
