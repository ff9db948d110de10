"""The sections of a batch in a report: its story, its balance, what was learned, what it became."""

from collections.abc import Iterator, Sequence
from datetime import tzinfo
from typing import Final

from api.record.balance import AmountBody, BalanceBody, DoubtBody, TermBody
from api.reports.entered import entered
from api.reports.gathering import BatchTold
from api.reports.parts import (
    figures,
    key_figure,
    listed,
    moment,
    number,
    paragraphs,
    section,
    table,
    text,
)
from api.reports.terms import term_name
from api.reviews.bodies_batch import BatchStoryBody, LinkBody, StoryStageBody

NO_BALANCE: Final = "Nothing can be balanced yet: no volume with its strength was entered."


def batch_sections(told: BatchTold) -> Iterator[str]:
    """Tell a batch, section by section, without its runs."""
    story = told.story
    yield paragraphs([story.batch.note] if story.batch.note else [])
    yield figures(key_figure(key, story.batch.numbers.get(key.name)) for key in story.keys)
    for stage in story.stages:
        yield section(stage.name, *_stage(stage, told.zone))
    yield section("What was entered", entered(told))
    yield section("What was learned", paragraphs(_learned(story), "learned"))
    yield section("The balance of the alcohol", *_balance(story.balance))
    yield section("What it became", _lots(story, told.zone))
    yield section("What cannot be told", paragraphs(one.why for one in story.gaps))


def _stage(stage: StoryStageBody, local: tzinfo) -> Iterator[str]:
    until = moment(stage.to_at, local) if stage.to_at else "still going on"
    vessels = f", {', '.join(stage.vessels)}" if stage.vessels else ""
    if stage.from_at:
        yield f'<p class="quiet">{moment(stage.from_at, local)} to {until}{text(vessels)}</p>'
    yield paragraphs(stage.says)
    yield figures(key_figure(one, one.value) for one in stage.figures)


def _learned(story: BatchStoryBody) -> Iterator[str]:
    if story.follows:
        yield _link("Begun from the plan of", story.follows)
    for one in story.followed_by:
        yield _link("The next from this plan is", one)


def _link(says: str, one: LinkBody) -> str:
    return f"{says} {one.name}: {one.learned}" if one.learned else f"{says} {one.name}."


def _balance(balance: BalanceBody) -> Iterator[str]:
    terms = (*balance.came, *balance.found)
    if not balance.doubts and not any(one.pure_alcohol_l or one.error_l for one in terms):
        yield paragraphs([NO_BALANCE, *_beside(balance)])
        return
    came = _side("Where its pure alcohol came from", balance.came, balance.came_total)
    went = _side("Where it went", balance.found, balance.found_total)
    yield f'<div class="sides">{came}{went}</div>'
    yield paragraphs(_beside(balance))
    if balance.doubts:
        yield f"<h3>What cannot be true</h3>{''.join(map(_doubt, balance.doubts))}"
    else:
        closes = f"Nothing in it is out by more than {balance.coverage:g} standard errors."
        yield paragraphs([closes])


def _side(title: str, terms: Sequence[TermBody], whole: AmountBody) -> str:
    named = [*((term_name(one.name), one) for one in terms), ("in all", whole)]
    rows = [
        [text(name), number(one.pure_alcohol_l, 3), number(one.error_l, 3)] for name, one in named
    ]
    heads = ("", "L pure at 20 °C", "± standard error")
    return f"<div><h3>{title}</h3>{table(heads, rows, 'tnn')}</div>"


def _beside(balance: BalanceBody) -> Iterator[str]:
    """Tell what is part of neither side: what was expected, what came over, what is left out."""
    known, came = balance.expected, balance.collected
    if known:
        low, high = number(known.pure_alcohol_low_l, 2), number(known.pure_alcohol_high_l, 2)
        yield (
            f"The bill can give {number(known.pure_alcohol_l, 2)} L, {low} to {high} "
            "(expected, in no book)."
        )
    if came.pure_alcohol_l > 0:
        error = number(came.error_l, 3)
        yield f"{number(came.pure_alcohol_l, 3)} ± {error} L were collected over all runs."
    if balance.left_out:
        entries = "One entry has" if balance.left_out == 1 else f"{balance.left_out} entries have"
        yield (
            f"{entries} no measured volume or strength and stand in no sum: estimates never "
            "enter the books."
        )


def _doubt(doubt: DoubtBody) -> str:
    slips = listed(one.sentence for one in doubt.slips)
    hint = '<p class="quiet">Likely slips, the likeliest first:</p>' if slips else ""
    return f"{paragraphs([doubt.sentence])}{hint}{slips}"


def _lots(story: BatchStoryBody, local: tzinfo) -> str:
    rows = [
        [
            text(one.name or one.kind.replace("_", " ")), text(one.vessel or ""),
            moment(one.since, local), number(one.volume_l, 2), number(one.abv),
            number(one.pure_alcohol_l, 2), text(", ".join(one.came_from)),
        ]
        for one in story.lots
    ]  # fmt: skip
    return table(("Lot", "In", "Since", "L", "% vol", "L pure", "From"), rows, "tttnnn")
