"""The balance of a batch: where its alcohol came from and went, and what of that cannot be true."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final, Literal
from uuid import UUID

from api.record.amounts import Amount, Taken, total
from api.record.at_odds import at_odds
from api.record.books_read import BooksRead
from api.record.claims import Claim, Doubt, Limit
from api.record.collected import Collected
from api.record.ledger import Account, Step, account, overdrawn
from api.record.poured import overpoured
from api.record.slips import doubts
from calc.alcoholometry import abv_from_mole_fraction, mole_fraction_from_abv
from calc.equilibrium import vapour_over
from calc.potential import GRAIN_YIELD
from logger.store.gauging import (
    INSTRUMENTS,
    MOST_DISTILLED_ABV,
    USUAL,
    Content,
    temperature_of_volume_c,
)
from logger.store.record_tables import Gauged, Measure, Transfer

Name = Literal[
    "in_wash", "received", "collected", "in_store", "kept_as_feints", "aged", "bottled",
    "discarded", "sampled", "used", "lost", "left_in_still", "gone_elsewhere", "difference",
]  # fmt: skip
HELD_AS: Final[dict[str, Name]] = {
    "feints": "kept_as_feints",
    "cask": "aged",
    "bottles": "bottled",
}
GONE_AS: Final[dict[str, Name]] = {
    "discard": "discarded",
    "destroy": "discarded",
    "sample": "sampled",
    "use": "used",
    "loss": "lost",
}
STAGES_OF_A_POT: Final = 2
STANDARD_HPA: Final = 1013.25
TAKEN: Final = "what was taken from it"
SOON: Final = timedelta(hours=24)  # later a lot may have lost something by itself


@dataclass(frozen=True, slots=True)
class Balance:
    """The terms of a batch: what came in equals what is found under all the other names."""

    came: dict[Name, Amount]
    found: dict[Name, Amount]
    collected: Amount  # over all runs; a view from the side, part of neither sum
    unaccounted_l: float  # rounding alone
    doubts: Sequence[Doubt]


def balance(read: BooksRead, batch: str, most_from_bill_l: float | None) -> Balance:
    """Draw up the balance of a batch."""
    found = account(read.books, lambda node: read.batch_of(node) == batch)
    came: dict[Name, Amount] = {"in_wash": found.made.alcohol, "received": found.came.alcohol}
    return Balance(
        came=came,
        found=_found(read, batch, found),
        collected=_collected(read, batch),
        unaccounted_l=found.residual_l,
        doubts=[
            *_uncharged(read, batch),
            *doubts([*claims(read, batch), *_of_bill(read, batch, most_from_bill_l)]),
            *(
                doubt
                for lot in read.lots
                if read.batch_of(lot) == batch
                for doubt in _overdrawn_of(read, lot)
            ),
            *(
                doubt
                for run in read.jars
                if read.batch_of(run) == batch
                for doubt in _overpoured_of(read, run)
            ),
            *_at_odds_of(read, batch),
        ],
    )


def doubts_of(read: BooksRead, node: UUID) -> Sequence[Doubt]:
    """Say what cannot be true of a lot, a jar or a run by itself, of a batch or of none."""
    if node in read.runs:
        jars = (one.jar.about for one in read.jars.get(node, ()))
        odd = (doubt for jar in jars for doubt in at_odds(read, jar))
        return [*doubts(_of_run(read, node)), *_overpoured_of(read, node), *odd]
    told = list(_of_lot(read, node)) if node in read.lots else []
    return [*doubts(told), *_overdrawn_of(read, node), *at_odds(read, node)]


def short_of(read: BooksRead, node: UUID) -> Sequence[Doubt]:
    """Say what cannot be true of a lot or a jar whose book falls below nothing."""
    below = overdrawn(read.books.get(node, ())) is not None or overpoured(read, node) is not None
    return doubts_of(read, node) if below and node not in read.runs else ()


def _overdrawn_of(read: BooksRead, node: UUID) -> Iterator[Doubt]:
    """Point out where a lot's or a jar's book falls below nothing, unless a claim says so."""
    poured = overpoured(read, node)
    if poured is not None:
        yield poured
        return
    under = overdrawn(read.books.get(node, ()))
    if under is None:
        return
    told = _of_lot(read, node) if node in read.lots else ()
    if not any(isinstance(one, Claim) and one.found_name == TAKEN and one.fails for one in told):
        yield _overdrawn(read, node, under)


def _at_odds_of(read: BooksRead, batch: str) -> Iterator[Doubt]:
    jars = (one.jar.about for row in read.jars.values() for one in row)
    for node in (*read.lots, *jars):
        if read.batch_of(node) == batch:
            yield from at_odds(read, node)


def _overpoured_of(read: BooksRead, run: UUID) -> Iterator[Doubt]:
    for one in read.jars.get(run, ()):
        yield from _overdrawn_of(read, one.jar.about)


def _overdrawn(read: BooksRead, node: UUID, step: Step) -> Doubt:
    under = -step.held.alcohol
    name = read.name_of(node)
    sentence = (
        f"{name}: {-step.change.volume_l:.2f} L went from it when by its book "
        f"{step.held.volume_l - step.change.volume_l:.2f} L were in it; "
        f"{under.pure_alcohol_l:.2f} L of pure alcohol are not accounted for. Enter what came in "
        "and was not written down, or correct what went out."
    )
    return Doubt(name, sentence, under.pure_alcohol_l, under.error_l)


def _found(read: BooksRead, batch: str, whole: Account) -> dict[Name, Amount]:
    terms: dict[Name, Amount] = {}

    def put(name: Name, amount: Amount) -> None:
        terms[name] = terms.get(name, Amount()) + amount

    for node, book in read.books.items():
        if read.batch_of(node) == batch:
            put(_held_as(read, node), book[-1].held.alcohol)
    for way, bulk in whole.gone.items():
        if way in GONE_AS:
            put(GONE_AS[way], bulk.alcohol)
    for name, amount in _to_others(read, batch):
        put(name, amount)
    put("difference", -whole.difference.alcohol)
    return terms


def _held_as(read: BooksRead, node: UUID) -> Name:
    if node in read.runs:
        return "left_in_still"
    lot = read.lots.get(node)
    return "in_store" if lot is None else HELD_AS.get(lot.kind, "in_store")


def _to_others(read: BooksRead, batch: str) -> Iterator[tuple[Name, Amount]]:
    """Find what went to lots of no batch or another: into the feints, or elsewhere."""
    for one in read.movements:
        if one.way in GONE_AS or one.from_lot is None or read.batch_of(one.from_lot) != batch:
            continue
        if one.to_lot is None or read.batch_of(one.to_lot) == batch:
            if one.to_lot is None:
                yield "gone_elsewhere", one.bulk.alcohol
            continue
        lot = read.lots.get(one.to_lot)
        kept = lot is not None and lot.kind == "feints"
        yield ("kept_as_feints" if kept else "gone_elsewhere"), one.bulk.alcohol


def _collected(read: BooksRead, batch: str) -> Amount:
    return total(
        one.bulk.alcohol
        for one in read.movements
        if one.way == "collect"
        and one.from_lot is not None
        and one.from_lot in read.runs
        and read.batch_of(one.from_lot) == batch
    )


def claims(read: BooksRead, batch: str) -> Iterator[Claim | Limit]:
    """Say what must be true of a batch's runs and lots."""
    for run in read.runs:
        if read.batch_of(run) == batch:
            yield from _of_run(read, run)
    for lot in read.lots:
        if read.batch_of(lot) == batch:
            yield from _of_lot(read, lot)


def _of_run(read: BooksRead, run: UUID) -> Iterator[Claim | Limit]:
    """Claim that what came over, and what was let out, is no more than was charged."""
    jars = tuple(_of_jar(one) for one in read.jars.get(run, ()) if one.enters_the_books)
    charged = tuple(_taken(read, one) for one in read.transfers if one.to_lot == run)
    out = tuple(_taken(read, one) for one in read.transfers if one.from_lot == run)
    name = read.name_of(run)
    if charged and None not in charged and (jars or out):
        yield Claim(name, _known(charged), _known((*jars, *out)), "the charge", "all that came out")
    most_abv, why = _strongest(read, run, _known(charged))
    for jar in _known((*jars, *out)):
        yield Limit(jar, most_abv, why)


def _uncharged(read: BooksRead, batch: str) -> Iterator[Doubt]:
    """Point out runs that gave alcohol though nothing is entered that went into them."""
    for run in read.runs:
        if read.batch_of(run) != batch or any(one.to_lot == run for one in read.transfers):
            continue
        jars = (_of_jar(one) for one in read.jars.get(run, ()) if one.enters_the_books)
        out = (_taken(read, one) for one in read.transfers if one.from_lot == run)
        came = total(one.amount() for one in _known((*jars, *out)))
        if came.is_above_nothing:
            name, litres = read.name_of(run), came.pure_alcohol_l
            sentence = (
                f"{name}: {litres:.2f} L of pure alcohol came out of the still, and no charge is "
                "entered. Enter what went into it: move its lot into the still, in the cellar."
            )
            yield Doubt(name, sentence, litres, came.error_l)


def _strongest(read: BooksRead, run: UUID, charged: Sequence[Taken]) -> tuple[float, str]:
    """Say how strong a run's spirit can be: by its charge, where the still does not rectify.

    A pot with a neck gives no more than two equilibrium stages (common practice, no source).
    """
    if not charged or read.runs[run].vessel not in read.plain_stills:
        return MOST_DISTILLED_ABV, "distilling can give"
    strength = max(one.abv for one in charged)
    if not 0.0 < strength < MOST_DISTILLED_ABV:
        return MOST_DISTILLED_ABV, "distilling can give"
    fraction = mole_fraction_from_abv(strength)
    for _ in range(STAGES_OF_A_POT):
        fraction = vapour_over(fraction, STANDARD_HPA)
    why = f"a still without reflux can give of {strength:.1f} % vol"
    return min(abv_from_mole_fraction(fraction), MOST_DISTILLED_ABV), why


def _of_lot(read: BooksRead, lot: UUID) -> Iterator[Claim | Limit]:
    """Claim that a lot is what was put into it, and gives no more than it had."""
    came = [one for one in read.transfers if one.to_lot == lot]
    went = [one for one in read.transfers if one.from_lot == lot]
    measures = [one for one in read.measures if one.lot == lot]
    name = read.lots[lot].name
    if measures and came and came[0].effective_at < measures[0].effective_at:
        first = measures[0]
        before = [one for one in came if one.effective_at <= first.effective_at]
        none_gone = not any(one.effective_at <= first.effective_at for one in went)
        soon = first.effective_at - before[-1].effective_at <= SOON
        if none_gone:
            parts = _known(tuple(_taken(read, one) for one in before))
            found = _known((_taken(read, first),))
            yield Claim(
                name, found, parts, f"{name} as measured", "what was put into it",
                "as much" if soon else "no more",
            )  # fmt: skip
            for one in found if parts else ():
                yield Limit(one, max(part.abv for part in parts), "the strongest part of it has")
    had: tuple[Transfer | Measure, ...] = (*_as_made(measures, came), *came)
    start = _known(tuple(_taken(read, one) for one in had))
    if start and went and not _was_found_more(read, lot):
        yield Claim(
            name, start, _known(tuple(_taken(read, one) for one in went)),
            "what it had", TAKEN,
        )  # fmt: skip


def _as_made(measures: Sequence[Measure], came: Sequence[Transfer]) -> Sequence[Measure]:
    """Find what a lot was before anything came: the first measure, where it stands before all."""
    first = measures[:1]
    return () if came and first and came[0].effective_at <= first[0].effective_at else first


def _was_found_more(read: BooksRead, lot: UUID) -> bool:
    """Say whether a gauging found more than had come: then its book alone can judge it."""
    book = read.books.get(lot, ())
    return any(one.way == "gauged" and one.change.alcohol.is_above_nothing for one in book)


def _of_bill(read: BooksRead, batch: str, most_l: float | None) -> Iterator[Claim]:
    """Claim that the wash holds no more than all the extract of the bill could give."""
    if most_l is None:
        return
    for one in read.measures:
        lot = read.lots.get(one.lot)
        if lot is not None and lot.batch == batch and lot.kind == "wash":
            bill = Taken("the bill", most_l, 100.0, volume_error_l=0.0, abv_error=0.0)
            wash = _known((_taken(read, one),))
            yield Claim(lot.name, (bill,), wash, "all the bill can give", "the wash")


def most_from_bill(high_l: float) -> float:
    """Give what a bill's extract would make if all of it fermented, from what practice makes."""
    return high_l / GRAIN_YIELD[1]


def _of_jar(one: Collected) -> Taken | None:
    return _made(f"jar {one.jar.number}", one.jar, one.content, is_jar=True)


def _taken(read: BooksRead, one: Transfer | Measure) -> Taken | None:
    content = read.contents[one.id]
    if isinstance(one, Measure):
        return _made(read.name_of(one.lot), one, content)
    jar = (
        one.from_lot is not None and one.from_lot not in read.lots and one.from_lot not in read.runs
    )
    if one.from_lot in read.runs and one.to_lot is not None:
        name = read.name_of(one.to_lot)
    elif one.from_lot is not None:
        name = read.name_of(one.from_lot)
    else:
        name = "the water" if one.kind == "dilute" else "what was received"
    return _made(name, one, content, is_jar=jar)


def _known(taken: Sequence[Taken | None]) -> tuple[Taken, ...]:
    return tuple(one for one in taken if one is not None)


def _made(
    name: str, read: Gauged, content: Content | None, *, is_jar: bool = False
) -> Taken | None:
    """Take a gauging over as it was read, so that a slip in it can be tried."""
    if content is None or content.volume_l is None or content.strength is None:
        return None
    as_read = read.volume_l is not None and read.mass_kg is None
    at_c = temperature_of_volume_c(read) if as_read else None
    own = read.reading_abv is not None
    instrument = INSTRUMENTS[read.instrument or USUAL]
    return Taken(
        name=name,
        volume_l=read.volume_l if as_read and read.volume_l is not None else content.volume_l,
        abv=content.strength.abv,
        volume_temperature_c=at_c,
        reading_abv=read.reading_abv,
        temperature_c=read.temperature_c,
        volume_error_l=content.volume_error_l,
        abv_error=content.strength.error_abv,
        is_jar=is_jar,
        is_corrected=not own or instrument.reference_c is None,
        is_weighed=not as_read,
    )
