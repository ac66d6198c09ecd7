"""Care advice for everybody: what to do with a ground base, what can hurt, and what is ruled about wax."""

from __future__ import annotations

from flask import render_template

from portal.web.caring import rules, staged
from portal.web.public.blueprint import bp
from portal.web.request import db, portal


@bp.get("/care")
def care() -> str:
    return render_template("public/care.html", stages=staged(rules(db())), care=portal().reference.care)
