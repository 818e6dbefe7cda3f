"""The invented people of the invented carrier: names, sign-in names, roles, qualifications; no passwords."""

from __future__ import annotations

from dataclasses import dataclass

CARRIER = "Osier Bend Cartage"
TOWN = "Tarn Ferry"
ZONE = "America/Denver"
"""The zone of the invented town; the example walk-around of the file contract is written there too."""
OUTSIDE_SHOP = "Quern Road Truck Repair"
OWNER_OPERATOR = "N. Farrow"
INTERCHANGE_POOL = "Saltmarch Trailer Pool"


@dataclass(frozen=True, slots=True)
class Qualified:
    """Evidence that a person may do a kind of work: ``brakes`` or ``annual``.

    `ground` is one of the two ways of 49 CFR 396.19 and 396.25: ``programme`` (training) or ``year`` (experience).
    """

    for_what: str
    ground: str
    evidence: str
    granted_days_ago: int


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody of the carrier; `sign_in` is the name typed at the door."""

    sign_in: str
    name: str
    roles: tuple[str, ...]
    language: str = "en"
    qualified: tuple[Qualified, ...] = ()


PEOPLE = (
    Person(
        "oduya",
        "M. Oduya",
        ("lead", "technician"),
        qualified=(
            Qualified(
                "brakes",
                "programme",
                "Training in air brakes and three years in a brake shop; certificate on file",
                2900,
            ),
            Qualified("annual", "programme", "Training as an inspector; certificate on file", 2500),
        ),
    ),
    Person(
        "quill",
        "R. Quill",
        ("technician",),
        qualified=(
            Qualified("brakes", "programme", "Apprenticeship in air brakes; certificate on file", 2100),
            Qualified("annual", "year", "A year of inspections beside M. Oduya; statement on file", 1500),
        ),
    ),
    Person(
        "amsel",
        "J. Amsel",
        ("technician",),
        qualified=(Qualified("brakes", "year", "A year of brake work under R. Quill; statement on file", 1300),),
    ),
    Person(
        "rosal",
        "L. Rosal",
        ("technician",),
        "es",
        (Qualified("brakes", "programme", "Curso de frenos de aire; certificado en el expediente", 1250),),
    ),
    Person("bramble", "E. Bramble", ("dispatcher",)),
    Person("osier", "H. Osier", ("owner",)),
    Person("wren", "T. Wren", ("driver",)),
    Person("castell", "I. Castell", ("driver",), "es"),
    Person("lund", "S. Lund", ("driver",)),
    Person("garrow", "P. Garrow", ("driver",)),
    Person("farrow", OWNER_OPERATOR, ("driver", "owner")),
    Person("tamm", "C. Tamm", ("inspector",)),
)

TECHNICIANS = ("R. Quill", "J. Amsel", "L. Rosal")
INSPECTOR_OF_THE_SHOP = "R. Quill"
"""Who does the annual inspections: the technician qualified for them (49 CFR 396.19)."""
LEAD = "M. Oduya"
DISPATCHER = "E. Bramble"
DRIVERS = ("T. Wren", "I. Castell", "S. Lund", "P. Garrow")
