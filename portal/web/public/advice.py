"""The advice on finished answers."""

from __future__ import annotations

from flask import redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.draws import DRAWS
from portal.domain.shares import hundred
from portal.web import advising
from portal.web.public.blueprint import bp
from portal.web.public.snow import theirs
from portal.web.request import db, portal

# A kind of snow that is met on fewer days is left out of the table.
LEAST_SHARE = 0.005


@bp.get("/snow/<token>/advice")
def snow_advice(token: str) -> str | Response:
    answers = theirs(token)
    check_url = url_for("public.snow_check", token=token)
    if answers.finished_at is None:
        return redirect(check_url, 303)
    advised = advising.for_answers(db(), portal().reference, answers)
    if advised is None:
        return render_template("public/snow_nothing.html", answers=answers, back_url=check_url)
    best, advice = advised.advice.families[0], advised.advice
    by_kind = advice.usual.by_kind()
    return render_template(
        "public/snow_advice.html",
        answers=answers,
        advised=advised,
        best=best,
        tied=advice.tie[1:],
        runner_up=advice.runner_up,
        drawn=advised.drawn(),
        ways=DRAWS,
        kinds=sorted(
            ((kind, share) for kind, share in by_kind.items() if share >= LEAST_SHARE),
            key=lambda one: -one[1],
        ),
        hundred=hundred,
        check_url=check_url,
        back_url=check_url,
    )
