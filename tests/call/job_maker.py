"""Drawn bodies of the whole call: every kind on the customer, the price and the work."""

from __future__ import annotations

from call_maker import event_id, quote
from hypothesis import strategies as st

from tundish.call import asking, bodies, closing, deals, fixing, quotes

TEXT = st.text(st.characters(codec="utf-8"), min_size=1).filter(str.strip)
IDS = st.integers(0, 14).map(event_id)
MINOR = st.integers(0, 2**53 - 1)
HASHES = st.binary(min_size=32, max_size=32).map(bytes.hex)
DAYS = st.dates().map(lambda day: day.isoformat())
POINTS = st.tuples(st.integers(0, deals.WIDE), st.integers(0, deals.HIGH))
STROKES = st.lists(st.lists(POINTS, min_size=1, max_size=5), min_size=1, max_size=4)
SHARES = st.floats(0, 1)


@st.composite
def quoted(draw: st.DrawFn) -> quotes.Quoted:
    """A quote of some lines whose tax is rounded line by line, all drawn."""
    lines = []
    for kind, net, tax in draw(
        st.lists(
            st.tuples(st.sampled_from(quotes.LINE_KINDS), st.integers(0, 10**9), st.integers(0, 10**9)),
            min_size=1,
            max_size=5,
        )
    ):
        quantity = draw(st.integers(1, 9) | st.floats(0.5, 9) | st.just("1.5"))
        lines.append(
            quotes.QuoteLine(kind, draw(TEXT), quantity, "h", net, net, "VAT", "21.0", tax, net + tax)
        )
    net, tax = sum(line.net for line in lines), sum(line.tax for line in lines)
    options = draw(st.lists(st.builds(quotes.Option, TEXT, MINOR, SHARES, TEXT), max_size=3))
    faults = draw(st.lists(TEXT, max_size=3))
    return quotes.Quoted(
        draw(TEXT), tuple(faults), "USD", tuple(lines), net, tax, net + tax,
        (quotes.TaxSum("VAT", "21.0", net, tax),), draw(SHARES), tuple(options), draw(MINOR), draw(DAYS),
    )  # fmt: skip


JOB_BODIES: st.SearchStrategy[bodies.Body] = st.one_of(
    st.builds(
        asking.CustomerNamed, TEXT, TEXT, st.just("a@b.example"), TEXT, TEXT, TEXT,
        st.sampled_from(asking.TENURES),
    ),
    st.builds(asking.MachineSeen, TEXT, TEXT),
    st.builds(asking.QuestionAnswered, TEXT, TEXT, st.floats(0, 600)),
    st.builds(
        asking.PhotoKept, TEXT, st.sampled_from(asking.STAGES), HASHES, st.just("image/jpeg"), st.integers(1, 10**8)
    ),
    quoted(),
    st.builds(
        deals.ConsentGiven, IDS, TEXT, MINOR, st.just("EUR"), st.just("signed"), STROKES, SHARES
    ),
    st.builds(deals.ConsentGiven, IDS, TEXT, MINOR, st.just("EUR"), st.sampled_from(["written", "spoken"])),
    st.builds(deals.ConsentRefused, MINOR, st.just("EUR"), st.just("") | IDS, TEXT),
    st.builds(fixing.StepDone, TEXT, TEXT, TEXT, st.just(True)),
    st.builds(fixing.PartUsed, TEXT, TEXT, st.integers(1, 9)),
    st.builds(deals.Paid, st.integers(1, 10**9), st.just("EUR"), TEXT),
    st.builds(closing.FollowUpSet, DAYS, TEXT),
    st.builds(closing.CallbackOf, st.just("k7f3q0000000past"), TEXT),
    st.builds(closing.PaperMade, TEXT, HASHES),
)  # fmt: skip
# A small world, in which bodies drawn apart meet: two causes, few amounts.
MEETING: st.SearchStrategy[bodies.Body] = st.one_of(
    st.builds(
        lambda faults, gross, name: quote(*faults, gross=gross, id=name),
        st.sampled_from([(), ("S04",), ("S04", "S06")]),
        st.sampled_from([0, 10_000, 11_500, 11_501, 20_000]),
        st.sampled_from(["Q1", "Q2", "Q3", "Q4"]),
    ),
    st.builds(
        lambda event, gross, share: deals.ConsentGiven(event, "A. Smith", gross, "EUR", "spoken", (), share),
        IDS,
        st.sampled_from([0, 10_000, 11_500, 20_000]),
        st.sampled_from([0.0, 0.15]),
    ),
    st.builds(deals.ConsentRefused, st.sampled_from([0, 6_050]), st.just("EUR"), st.just("") | IDS),
    st.builds(fixing.StepDone, st.sampled_from(["S04", "S06"]), st.just("new washer")),
    st.builds(fixing.PartUsed, st.sampled_from(["valve", "washer"]), st.sampled_from(["S04", "S06"])),
    st.builds(deals.Paid, st.sampled_from([1, 5_000, 10_000]), st.sampled_from(["EUR", "USD"]), st.just("cash")),
    st.builds(asking.QuestionAnswered, st.sampled_from(["Q04", "Q07"]), st.sampled_from(["yes", "no"])),
    st.builds(asking.CustomerNamed, st.sampled_from(["A. Smith", "B. Jones"])),
    st.builds(closing.FollowUpSet, st.sampled_from(["2025-12-01", "2025-12-02"]), st.just("ask")),
)  # fmt: skip
