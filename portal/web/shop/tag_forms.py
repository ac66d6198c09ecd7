"""The form about the stickers that tags are printed on."""

from __future__ import annotations

from dataclasses import fields

from wtforms import BooleanField, RadioField, SelectMultipleField

from portal.domain.tag_sheets import LARGEST_MM, LEAST_HEIGHT_MM, LEAST_WIDTH_MM, Paper, TagSheet
from portal.domain.words import N_
from portal.web.forms import PortalForm, Problem, said
from portal.web.shop.forms import choice
from portal.web.shop.measures import MeasureField, as_written

MOST_COLUMNS, MOST_ROWS = 10, 30
SIZES = tuple(field.name for field in fields(TagSheet) if field.name != "paper")


class TagSheetForm(PortalForm):
    """What the stickers are like, and where to begin."""

    paper = RadioField(N_("Paper"), choices=[choice(one.value, one.label) for one in Paper])
    columns = MeasureField(N_("Columns"), least=1, most=MOST_COLUMNS, whole=True)
    rows = MeasureField(N_("Rows"), least=1, most=MOST_ROWS, whole=True)
    width_mm = MeasureField(N_("Width of a sticker"), least=LEAST_WIDTH_MM, most=LARGEST_MM[0], unit="mm")
    height_mm = MeasureField(N_("Height of a sticker"), least=LEAST_HEIGHT_MM, most=LARGEST_MM[1], unit="mm")
    left_mm = MeasureField(N_("Left edge"), least=0, most=LARGEST_MM[0], unit="mm")
    top_mm = MeasureField(N_("Upper edge"), least=0, most=LARGEST_MM[1], unit="mm")
    used = MeasureField(N_("Stickers that are used up"), least=0, most=MOST_COLUMNS * MOST_ROWS, whole=True)
    frames = BooleanField(N_("Print the edges of the stickers"))

    @property
    def sheet(self) -> TagSheet:
        """As it was filled in, with the usual numbers where one could not be read."""
        read = {name: value for name in SIZES if (value := self[name].value) is not None}
        whole = {name: int(read[name]) for name in ("columns", "rows") if name in read}
        paper = Paper(self.paper.data) if self.paper.data in list(Paper) else Paper.A4
        return TagSheet(**read | whole, paper=paper)

    def _are_read(self, *names: str) -> bool:
        return all(self[name].value is not None for name in names)

    def validate_left_mm(self, _field: MeasureField) -> None:
        over, _below = self.sheet.over_mm
        if over > 0 and self._are_read("columns", "width_mm", "left_mm"):
            raise Problem(
                N_(
                    "The columns reach %(over)s mm over the right edge of the paper. Make them narrower or fewer"
                ),
                over=as_written(over),
            )

    def validate_top_mm(self, _field: MeasureField) -> None:
        _over, below = self.sheet.over_mm
        if below > 0 and self._are_read("rows", "height_mm", "top_mm"):
            raise Problem(
                N_("The rows reach %(over)s mm over the lower edge of the paper. Make them lower or fewer"),
                over=as_written(below),
            )

    def validate_used(self, field: MeasureField) -> None:
        many = self.sheet.many
        if field.value is not None and field.value >= many and self._are_read("columns", "rows"):
            raise Problem(N_("A sheet has %(many)s stickers, and at least one has to be left"), many=many)


class TagsOfPairsForm(TagSheetForm):
    """The same, with the pairs of one owner to choose from."""

    pairs = SelectMultipleField(
        N_("Pairs"), [said(N_("Choose at least one pair"))], coerce=int, choices=[], validate_choice=False
    )
