"""Which pairs of an order share a structure: those of a discipline, or of one age class among them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from portal.domain.answers import Discipline
from portal.domain.words import N_, Phrase

if TYPE_CHECKING:
    from portal.db.clubs import AgeClass
    from portal.db.pairs import Pair

# The age class (none for the club as a whole), and the discipline.
Group = tuple[int | None, Discipline]

LABELS = {
    Discipline.CLASSIC: N_("Structure for all classic pairs"),
    Discipline.SKATE: N_("Structure for all skating pairs"),
}
# The same where some age classes have fields of their own: for one of them, and for the rest.
CLASS_LABELS = {
    Discipline.CLASSIC: N_("%(name)s: structure for the classic pairs"),
    Discipline.SKATE: N_("%(name)s: structure for the skating pairs"),
}
REST_LABELS = {
    Discipline.CLASSIC: N_("Structure for all other classic pairs"),
    Discipline.SKATE: N_("Structure for all other skating pairs"),
}
LACKING = {
    Discipline.CLASSIC: N_("Choose the structure for the classic pairs"),
    Discipline.SKATE: N_("Choose the structure for the skating pairs"),
}
CLASS_LACKING = {
    Discipline.CLASSIC: N_("Choose the structure for the classic pairs of %(name)s"),
    Discipline.SKATE: N_("Choose the structure for the skating pairs of %(name)s"),
}


@dataclass(frozen=True)
class Default:
    """The field with the structure of all pairs of a group, and what is said where it is left empty."""

    group: Group
    name: str
    label: Phrase
    lacking: Phrase

    @property
    def discipline(self) -> Discipline:
        return self.group[1]


@dataclass(frozen=True)
class Defaults:
    """The fields, the youngest class first and the club as a whole last; and pair -> the name of its field."""

    fields: Sequence[Default]
    of_pair: Mapping[int, str]
    # The pairs whose class has a field of its own.
    of_class: Collection[int] = ()


def default_name(discipline: Discipline, class_id: int | None = None) -> str:
    """The name of the field with the structure for all pairs of a discipline, or those of an age class among them."""
    return f"all_{discipline.value}" + ("" if class_id is None else f"_{class_id}")


def group_of(pair: Pair, class_of: Mapping[int, AgeClass]) -> Group:
    """The group that a pair is in; ``class_of`` has pairs whose age class has a structure of its own."""
    one = class_of.get(pair.id)
    return (one.id if one else None, pair.discipline)


def defaults(pairs: Sequence[Pair], class_of: Mapping[int, AgeClass]) -> Defaults:
    """What these pairs share; ``class_of`` has pairs whose age class has a structure of its own."""
    classes = {one.id: one for one in class_of.values()}
    order = sorted(classes, key=lambda number: -classes[number].first_year)
    groups = {group_of(pair, class_of) for pair in pairs}
    places = {number: at for at, number in enumerate(order)}
    fields = []
    for group in sorted(groups, key=lambda one: (places.get(one[0] or 0, len(places)), one[1])):
        class_id, discipline = group
        about = {"name": classes[class_id].name} if class_id is not None else {}
        labels = CLASS_LABELS if about else REST_LABELS if classes else LABELS
        lacking = CLASS_LACKING if about else LACKING
        name = default_name(discipline, class_id)
        fields.append(
            Default(group, name, Phrase(labels[discipline], about), Phrase(lacking[discipline], about))
        )
    names = {pair.id: default_name(pair.discipline, group_of(pair, class_of)[0]) for pair in pairs}
    return Defaults(fields, names, frozenset(class_of))
