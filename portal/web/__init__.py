"""The pages: turns requests into use cases and values into HTML; holds no rule and no query."""

from __future__ import annotations

from datetime import timedelta

from flask import Flask
from flask_wtf.csrf import CSRFProtect
from werkzeug.middleware.proxy_fix import ProxyFix

from portal.config import Settings
from portal.db.engine import Database
from portal.reference import default_folder, load
from portal.web import (
    account,
    club,
    errors,
    headers,
    language,
    navigation,
    public,
    request,
    shop,
    skier,
    uploads,
)

MAX_REQUEST_BYTES = 2_000_000
SIGNED_IN_DAYS = 60


def make_app(settings: Settings) -> Flask:
    """A Flask application; opens the database, reads the reference data and hangs every door."""
    app = Flask(__name__)
    app.config.update(
        SECRET_KEY=settings.secret_keys[0],
        SECRET_KEY_FALLBACKS=list(settings.secret_keys[1:]),
        TRUSTED_HOSTS=[settings.hostname],
        MAX_CONTENT_LENGTH=MAX_REQUEST_BYTES,
        MAX_FORM_MEMORY_SIZE=MAX_REQUEST_BYTES,
        MAX_FORM_PARTS=2_000,
        SESSION_COOKIE_NAME="__Host-rillbook" if settings.is_https else "rillbook",
        SESSION_COOKIE_SECURE=settings.is_https,
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        PERMANENT_SESSION_LIFETIME=timedelta(days=SIGNED_IN_DAYS),
        # The token lives as long as the session: nobody loses a long form to a clock.
        WTF_CSRF_TIME_LIMIT=None,
    )
    app.jinja_options = {"trim_blocks": True, "lstrip_blocks": True}
    app.jinja_env.add_extension("jinja2.ext.do")
    if settings.trusted_proxies:
        count = settings.trusted_proxies
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=count, x_proto=count, x_host=count)  # type: ignore[method-assign]
    app.extensions["portal"] = request.Portal(
        settings=settings,
        database=Database.open(settings.database_url),
        reference=load(settings.shared_folder or default_folder()),
    )
    # Before the token is looked for, since that reads the form.
    uploads.install(app)
    # But for the one act that a mailbox does for its reader, which knows no token of ours.
    CSRFProtect(app).exempt(public.season_letter.stop_season_letter)
    request.install(app)
    language.install(app)
    navigation.install(app)
    headers.install(app)
    errors.install(app)
    for blueprint in (public.bp, account.bp, skier.bp, club.bp, shop.bp):
        app.register_blueprint(blueprint)
    return app
