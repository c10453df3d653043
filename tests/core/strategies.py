"""Due rules and facts of every form, for Hypothesis."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import strategies as st

from webapp.core.rules import METERS

TODAY = date(2027, 3, 2)

amounts = st.integers(1, 5000).map(lambda tenths: tenths / 10)
totals = st.dictionaries(
    st.sampled_from(sorted(METERS)), st.integers(0, 50_000).map(lambda tenths: tenths / 10), max_size=7
)
days = st.integers(-500, 500).map(lambda offset: (TODAY + timedelta(days=offset)).isoformat())
past_days = st.integers(-500, 0).map(lambda offset: (TODAY + timedelta(days=offset)).isoformat())
moments = st.fixed_dictionaries({"date": past_days, "meters": totals})

calendars = st.tuples(st.sampled_from(["days", "weeks", "months", "years"]), st.integers(1, 60)).map(
    lambda pair: {"every": {pair[0]: pair[1]}}
)
meters = st.fixed_dictionaries({"meter": st.sampled_from(sorted(METERS)), "every": amounts})
each = st.just({"each": "start-up"})
rrules = st.just({"rrule": "FREQ=MONTHLY;BYDAY=1MO", "anchor": "2026-01-05"})
_events = st.sampled_from(
    [{"after": "part.changed", "part": "blade"}, {"after": "fluid.changed", "fluid": "coolant"}, {"after": "tag.off"}]
)
_delays = st.one_of(
    st.integers(0, 400).map(lambda count: {"days": count}),
    st.tuples(st.sampled_from(sorted(METERS)), st.lists(amounts, min_size=1, max_size=4, unique=True)).map(
        lambda pair: {"meter": pair[0], "at": sorted(pair[1])}
    ),
)
afters = st.tuples(_events, _delays).map(lambda pair: {**pair[0], **pair[1]})
whens = st.tuples(st.integers(-100, 100), st.integers(1, 100), st.sampled_from(["below", "above", "both"])).map(
    lambda draw: {
        "when": {
            "reading": "coolant.strength",
            **({"below": draw[0] / 10} if draw[2] != "above" else {}),
            **({"above": (draw[0] + draw[1]) / 10} if draw[2] != "below" else {}),
        }
    }
)
# Those that rest with the machine, those by the calendar, and all.
resting_rules = st.one_of(meters, each, afters, whens)
simple_rules = st.one_of(calendars, meters, each, afters, whens, rrules)
first_ofs = st.tuples(st.lists(st.one_of(calendars, resting_rules), min_size=1, max_size=3), simple_rules).map(
    lambda pair: {"first_of": [*pair[0], pair[1]]}
)
rules = st.one_of(simple_rules, first_ofs)

facts = st.fixed_dictionaries(
    {
        "today": st.just(TODAY.isoformat()),
        "in_service": st.booleans(),
        "start": past_days,
        "done": st.none() | moments,
        "deferred_to": st.none() | days,
        "meters": totals,
        "readings": st.one_of(
            st.just({}), st.integers(-200, 200).map(lambda tenths: {"coolant.strength": tenths / 10})
        ),
        "done_today": st.booleans(),
        "used_today": st.booleans(),
        "events": st.dictionaries(
            st.sampled_from(["part.changed/blade", "fluid.changed/coolant", "tag.off"]), moments, max_size=3
        ),
        "meter_start": totals,
        "dates": st.lists(days, max_size=6, unique=True),
    }
)
