"""Lists as files to take along."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from werkzeug.wrappers import Response

from portal.documents.tables import Cell, Table, as_csv, as_xlsx
from portal.domain.audit import Act
from portal.domain.errors import NotFound
from portal.services import audit
from portal.web.language import speak
from portal.web.request import actor, now, transaction

WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def sent(table: Table, name: str, kind: str) -> Response:
    """The table as the file ``name`` with moments by the workshop's clock; ``kind`` is ``csv`` or ``xlsx``, else ``NotFound``.

    Whoever took it along, and which list, is kept.
    """
    zone = ZoneInfo(speak().timezone)
    local = replace(table, rows=tuple(tuple(_local(cell, zone) for cell in row) for row in table.rows))
    if kind == "csv":
        written, mimetype = as_csv(local, speak().decimal_mark), "text/csv; charset=utf-8"
    elif kind == "xlsx":
        written, mimetype = as_xlsx(local), WORKBOOK
    else:
        raise NotFound
    with transaction() as session:
        audit.note(session, actor(), Act.EXPORTED, now(), f"{name}.{kind}")
    return Response(
        written,
        mimetype=mimetype,
        headers={"Content-Disposition": f'attachment; filename="{name}.{kind}"'},
    )


def _local(cell: Cell, zone: ZoneInfo) -> Cell:
    return cell.astimezone(zone).replace(tzinfo=None) if isinstance(cell, datetime) and cell.tzinfo else cell
