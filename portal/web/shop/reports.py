"""The reports: one page each for days that are chosen, and every table of them as a file."""

from __future__ import annotations

from datetime import date

from flask import render_template, request, url_for
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response
from wtforms import SelectField

from portal.domain.errors import NotFound
from portal.domain.reports.periods import FIRST_YEAR, LAST_YEAR, LONGEST_DAYS, Beside, Period, season
from portal.domain.words import N_
from portal.web import exports
from portal.web.forms import PortalForm, Problem
from portal.web.language import speak
from portal.web.request import actor, db, portal, today
from portal.web.shop.blueprint import bp
from portal.web.shop.forms import DayField, choice
from portal.web.shop.reporting import chosen, faults, on_snow, promises, work
from portal.web.shop.reporting.parts import ROWS_ON_PAGE, Asked, Report, said_period

REPORTS = (
    Report(
        "work",
        N_("Pairs and minutes"),
        N_("What was ground on each day, and how full the days were"),
        work.days,
        compares=True,
    ),
    Report(
        "dressings",
        N_("Dressings a pair"),
        N_("How many dressings the stone needed for each pair"),
        work.dressings,
        compares=True,
    ),
    Report(
        "promises",
        N_("Promised and ready"),
        N_("By how many days bookings were early or late"),
        promises.promises,
        compares=True,
        notes=(
            N_(
                "A booking is ready on the day on which the grind of its last pair is recorded. Promised is the day that stood last, so a booking that was moved counts by its new day; reworks are not counted."
            ),
        ),
    ),
    Report(
        "lead-time",
        N_("How long it took"),
        N_("Days from asking and from hand-in until the last pair was ground"),
        promises.lead_time,
        compares=True,
        notes=(
            N_(
                "Bookings that became ready in these days, reworks apart. Hand-in is the day on which the last pair was checked in."
            ),
        ),
    ),
    Report(
        "structures",
        N_("Structures"),
        N_("What was ground by month, and for which snow"),
        chosen.structures,
    ),
    Report(
        "evidence",
        N_("Evidence"),
        N_("What glide notes say of each structure"),
        on_snow.evidence,
        has_period=False,
    ),
    Report(
        "rework",
        N_("Rework"),
        N_("Grinds that were made good, by structure, diamond and technician"),
        faults.rework,
        for_managers=True,
        compares=True,
    ),
    Report(
        "measured",
        N_("Measured quality"),
        N_("Base taken beside what is stated, by structure, diamond and technician"),
        faults.measured,
        for_managers=True,
    ),
)


class PeriodForm(PortalForm):
    """From and to which day; read from the address."""

    first = DayField(N_("First day"), ask=N_("Enter the first day"))
    last = DayField(N_("Last day"), ask=N_("Enter the last day"))
    beside = SelectField(N_("Beside them"), validate_choice=False)

    def validate_first(self, field: DayField) -> None:
        _in_reach(field)

    def validate_last(self, field: DayField) -> None:
        _in_reach(field)
        first = self.first.day
        if field.day is None or first is None:
            return
        if field.day < first:
            raise Problem(N_("Enter a last day that is not before the first"))
        if (field.day - first).days >= LONGEST_DAYS:
            raise Problem(N_("Choose at most %(days)s days"), days=LONGEST_DAYS)

    @property
    def against(self) -> Beside:
        """What stands beside; the year before where nothing else is chosen."""
        return next((one for one in Beside if one.value == self.beside.data), Beside.YEAR)


def _in_reach(field: DayField) -> None:
    if field.day is not None and not FIRST_YEAR <= field.day.year <= LAST_YEAR:
        raise Problem(
            N_("Enter a year from %(least)s to %(most)s"), least=str(FIRST_YEAR), most=str(LAST_YEAR)
        )


def _form() -> PeriodForm:
    """The form as the address fills it; what is left out there is this season."""
    usual = season(today())
    given = {"first": usual.first.isoformat(), "last": usual.last.isoformat(), "beside": Beside.YEAR.value}
    form = PeriodForm(formdata=MultiDict({**given, **request.args.to_dict()}))
    form.beside.choices = [choice(one.value, one.label) for one in Beside]
    return form


def _of(key: str) -> Report:
    """The report, if there is one and it is theirs to see."""
    found = next((one for one in REPORTS if one.key == key), None)
    if found is None or (found.for_managers and not actor().is_manager):
        raise NotFound
    return found


def _asked(form: PeriodForm) -> Asked | None:
    """What is asked for, or nothing where the days cannot be read."""
    if not form.validate() or form.first.day is None or form.last.day is None:
        return None
    period = Period(form.first.day, form.last.day)
    return Asked(db(), period, form.against, speak(), portal().reference.tables)


@bp.get("/reports", endpoint="reports")
def all_reports() -> str:
    listed = [one for one in REPORTS if actor().is_manager or not one.for_managers]
    return render_template("shop/reports.html", reports=listed, back_url=url_for("shop.hub"))


def one_report(name: str) -> str:
    """The page of a report; each has an endpoint of its own."""
    found, form = _of(name), _form()
    asked = _asked(form)
    voice = speak()
    return render_template(
        "shop/report.html",
        report=found,
        form=form,
        parts=found.make(asked) if asked is not None else [],
        asked=asked,
        period=said_period(asked.period, voice) if asked is not None else None,
        voice=voice,
        rows_on_page=ROWS_ON_PAGE,
        days=_days(asked),
        back_url=url_for("shop.reports"),
    )


for _report in REPORTS:
    bp.add_url_rule(
        f"/reports/{_report.key}",
        _report.endpoint,
        one_report,
        methods=["GET"],
        defaults={"name": _report.key},
    )


def _days(asked: Asked | None) -> dict[str, str]:
    """The days as they stand in addresses."""
    if asked is None:
        return {}
    first, last = asked.period.first, asked.period.last
    return {"first": first.isoformat(), "last": last.isoformat(), "beside": asked.beside.value}


@bp.get("/reports/<name>/<part>.<kind>", endpoint="report_file")
def file_of_report(name: str, part: str, kind: str) -> Response:
    found, asked = _of(name), _asked(_form())
    if asked is None:
        raise NotFound
    made = next((one for one in found.make(asked) if one.key == part), None)
    if made is None:
        raise NotFound
    return exports.sent(made.table, _name(found, part, asked.period.first, asked.period.last), kind)


def _name(report: Report, part: str, first: date, last: date) -> str:
    days = f"-{first.isoformat()}-{last.isoformat()}" if report.has_period else ""
    return f"{report.key}-{part}{days}"
