"""What a list of customers and their grinds can hold, and the headings by which each is known in several languages."""

from __future__ import annotations

from portal.domain.importing.columns import Field
from portal.domain.words import N_

PERSON, PAIR, GRIND = N_("Customer"), N_("Pair"), N_("Grind")


def _field(group: str, key: str, label: str, words: str) -> Field:
    return Field(key, label, tuple(word.strip() for word in words.split(",")), group)


_AT = (
    ("tip", "tip, spitze, spiss, tupp, spets, kärki, pointe, punta"),
    ("middle", "middle, mid, center, centre, mitte, midt, mitt, midten, keski, milieu, centro"),
    ("tail", "tail, ende, bakende, bak, ände, kanta, talon, coda"),
)
_BEFORE = (
    "before",
    "vorher",
    "vor",
    "før",
    "före",
    "ennen",
    "avant",
    "prima",
    "dicke vorher",
    "thickness before",
)
_AFTER = (
    "after",
    "nachher",
    "nach",
    "etter",
    "efter",
    "jälkeen",
    "après",
    "dopo",
    "dicke nachher",
    "thickness after",
)


def _places(when: tuple[str, ...], alone: str, where: str) -> str:
    """Every "before tip", "tip before"; and the bare "before" for the middle."""
    both = [f"{word} {place.strip()}" for word in when for place in where.split(",")]
    turned = [f"{place.strip()} {word}" for word in when for place in where.split(",")]
    return ", ".join([*both, *turned, *(when if alone == "middle" else ())])


CUSTOMER_FIELDS: tuple[Field, ...] = (
    _field(
        PERSON,
        "email",
        N_("E-mail address"),
        "e-mail, email, mail, e-mail address, email address, mail address, e-post, epost, e-postadresse, e-postadress, "
        "e-mail-adresse, mailadresse, sähköposti, sähköpostiosoite, courriel, adresse e-mail, correo, correo electrónico, "
        "posta elettronica, customer e-mail, e-posti",
    ),
    _field(
        PERSON,
        "name",
        N_("Name in one column"),
        "name, full name, customer, customer name, owner, skier, kunde, kundenname, kund, navn, kundenavn, namn, kundnamn, "
        "eier, ägare, nimi, asiakas, nom, client, cliente, klient, jméno a příjmení, imię i nazwisko, omistaja",
    ),
    _field(
        PERSON,
        "first_name",
        N_("First name"),
        "first name, given name, forename, vorname, fornavn, förnamn, etunimi, prénom, nome, nombre, imię, jméno, eesnimi",
    ),
    _field(
        PERSON,
        "last_name",
        N_("Last name"),
        "last name, surname, family name, nachname, familienname, zuname, etternavn, efternavn, efternamn, sukunimi, "
        "nom de famille, cognome, apellido, apellidos, nazwisko, příjmení, perekonnanimi",
    ),
    _field(
        PERSON,
        "phone",
        N_("Telephone"),
        "phone, telephone, phone number, telephone number, mobile, mobile phone, cell, tel, telefon, telefonnummer, "
        "mobil, mobilnummer, mobiltelefon, handy, handynummer, puhelin, puhelinnumero, téléphone, telefono, teléfono",
    ),
    _field(
        PAIR,
        "maker",
        N_("Maker"),
        "maker, make, brand, manufacturer, marke, hersteller, skimarke, merke, skimerke, märke, skidmärke, fabrikat, "
        "merkki, marque, marca, marka, značka, produsent, valmistaja",
    ),
    _field(PAIR, "model", N_("Model"), "model, ski model, modell, malli, modèle, modello, modelo, mudel"),
    _field(
        PAIR,
        "discipline",
        N_("Classic or skate"),
        "discipline, style, technique, kind of skiing, disziplin, stil, technik, teknikk, stilart, teknik, gren, tyyli, "
        "hiihtotapa, discipline de ski, tecnica, styl, classic or skate",
    ),
    _field(
        PAIR,
        "length",
        N_("Length"),
        "length, ski length, länge, skilänge, lengde, skilengde, längd, skidlängd, pituus, longueur, taille, lunghezza, "
        "largo, długość, délka, pikkus",
    ),
    _field(
        PAIR,
        "mark",
        N_("Mark that tells the pair"),
        "mark, serial, serial number, serial no, pair number, pair no, pair, ski number, ski no, kennzeichen, seriennummer, "
        "serien-nr, paar, skinummer, serienummer, merking, parnummer, märkning, sarjanumero, merkintä, numéro de série",
    ),
    _field(
        PAIR,
        "year",
        N_("Year"),
        "year, model year, baujahr, jahrgang, år, årgang, årsmodell, vuosi, année, anno, rok",
    ),
    _field(
        PAIR,
        "stiffness",
        N_("Stiffness in kg"),
        "stiffness, flex, härte, härtegrad, stivhet, styvhet, jäykkyys, rigidité",
    ),
    _field(
        PAIR,
        "notes",
        N_("Notes on the pair"),
        "notes, note, pair notes, notizen, notiz, notater, notat, anteckningar, muistiinpanot",
    ),
    _field(
        GRIND,
        "day",
        N_("Day of the grind"),
        "date, day, ground on, grind date, date of grind, datum, schliffdatum, geschliffen am, dato, slipedato, slipt, "
        "slipdatum, päivä, päivämäärä, pvm, hiontapäivä, date du ponçage, jour, data, fecha, kuupäev",
    ),
    _field(
        GRIND,
        "structure",
        N_("Structure"),
        "structure, grind, grind structure, struktur, schliff, schliffbild, slip, slipestruktur, sliping, slipning, rakenne, "
        "hionta, hiontakuvio, structure de base, struttura, estructura, struktura, muster",
    ),
    _field(
        GRIND,
        "technician",
        N_("Ground by"),
        "technician, ground by, by, operator, techniker, geschliffen von, bearbeiter, tekniker, slipt av, slipat av, hioja, "
        "technicien, tecnico",
    ),
    *(
        _field(GRIND, f"before_{place}", label, _places(_BEFORE, place, words))
        for (place, words), label in zip(
            _AT, (N_("Base before, tip"), N_("Base before, middle"), N_("Base before, tail")), strict=True
        )
    ),
    *(
        _field(GRIND, f"after_{place}", label, _places(_AFTER, place, words))
        for (place, words), label in zip(
            _AT, (N_("Base after, tip"), N_("Base after, middle"), N_("Base after, tail")), strict=True
        )
    ),
    _field(
        GRIND,
        "flattened",
        N_("Base flattened"),
        "flattened, base flattening, flattening, plan, planschliff, planing, plansliping, planslipning",
    ),
    _field(
        GRIND,
        "saturated",
        N_("Hot-wax saturation"),
        "saturated, saturation, hot wax, hot-wax saturation, heißwachs, wachsbad, varmevoks, varmvax, kuumavoitelu",
    ),
    _field(
        GRIND,
        "remarks",
        N_("Remarks on the grind"),
        "remarks, remark, comment, comments, bemerkung, bemerkungen, anmerkung, kommentar, kommentarer, merknad, merknader, "
        "anmärkning, huomautus, remarque, remarques, osservazioni",
    ),
)
BY_KEY = {field.key: field for field in CUSTOMER_FIELDS}
