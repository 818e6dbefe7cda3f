"""What the invented drivers report, and what the shop answers."""

from __future__ import annotations

from datetime import datetime, timedelta
from random import Random
from uuid import UUID

from demo.people import LEAD, PEOPLE
from demo.records import Answer, DriverReport

WHERE = ("Tarn Ferry yard", "Hew Landing", "Ollerby Gap, top of the grade", "Saltmarch depot", "Upper Quern scale")
_LANGUAGE = {person.name: person.language for person in PEOPLE}
_SAID = {
    "en": (
        (
            "Pulls a little to the left under light braking.",
            "not_needed",
            "Road-tested on the flat and on the grade; strokes and drums even side to side, tire pressures set.",
        ),
        (
            "Air hisses behind the cab with the pedal down.",
            "repaired",
            "Gladhand seal replaced, leak-down taken again.",
        ),
        ("Slow to build air this morning.", "repaired", "Loose fitting at the dryer tightened, build-up timed."),
        (
            "Squeal from a rear wheel when stopping.",
            "not_needed",
            "Linings and drums looked at, nothing touching; dust.",
        ),
        ("Trailer brakes come on late.", "repaired", "Sticky relay valve replaced, applied and released times even."),
        (
            "Smell of hot brakes after the grade.",
            "not_needed",
            "Hubs within a few degrees of each other, strokes even.",
        ),
        ("Low-air buzzer faint.", "repaired", "Buzzer contact cleaned, warning tried again."),
        ("Parking brake slow to let go.", "repaired", "Water drained, valve exhaust cleared, tried three times."),
    ),
    "es": (
        (
            "Jala un poco a la izquierda al frenar suave.",
            "not_needed",
            "Se probó en plano y en bajada; carreras y tambores parejos, presión de llantas ajustada.",
        ),
        (
            "Silba aire detrás de la cabina con el pedal pisado.",
            "repaired",
            "Se cambió el sello del acople; fuga medida.",
        ),
        ("Tarda en cargar aire por la mañana.", "repaired", "Se apretó una conexión floja del secador; carga medida."),
        ("Rechina una rueda trasera al parar.", "not_needed", "Forros y tambores revisados, nada roza; polvo."),
        ("Los frenos del remolque entran tarde.", "repaired", "Se cambió la válvula relé; tiempos parejos."),
    ),
}


def report_of(
    rng: Random,
    report_id: UUID,
    unit: str,
    *,
    at: datetime,
    by: str,
    meter: str,
    answered: datetime,
    answered_by: str,
) -> DriverReport:
    """Return a report with its answer of the next morning, and the driver's review of it."""
    said, what, answer = rng.choice(_SAID[_LANGUAGE[by]])
    review = answered + timedelta(minutes=rng.randrange(10, 40, 5))
    return DriverReport(
        id=report_id,
        unit=unit,
        at=at,
        by=by,
        where=rng.choice(WHERE),
        meter=meter,
        said=said,
        answers=(
            Answer(what, answer, answered, LEAD if what == "not_needed" else answered_by),
            Answer("reviewed", "", review, by),
        ),
    )
