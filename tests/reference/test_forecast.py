"""The day a meter reaches a figure, against published tables, other distributions and dateutil's calendars.

"Seen" means read at the source, "from memory" that it was not. SciPy's `scipy.stats` and python-dateutil are
oracles: other people's code for the same quantity, reached by another way than ours.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

import numpy as np
import pytest
from dateutil import tz
from dateutil.rrule import DAILY, FR, MO, SA, TH, TU, WE, rrule, rruleset
from scipy import stats

from webapp.core.forecast import Asked, Calendar, calendar, chance, crossings
from webapp.core.instants import shop_date
from webapp.core.pace import Pace
from webapp.upkeep.history import day_start_ms, local

MONDAY = date(2027, 3, 1)
EVERY_DAY = (1.0,) * 7
WEEKDAYS = (1.0,) * 5 + (0.0,) * 2


def pace(mean: float, var: float, *, week: tuple[float, ...] = EVERY_DAY, psi: float = 0.0, drift: float = 0.0) -> Pace:
    """One meter that runs `mean` a day with variance `var` on the days of the week given."""
    share = np.array([week])
    one = np.ones(1)
    return Pace(mean * share, var * share, one, psi * one, drift * one, one * 20, one * 100, share * 0)


def asked(*needs: float, start: int = 0, share: float = 1.0) -> Asked:
    n = len(needs)
    return Asked(np.zeros(n, dtype=int), np.array(needs), np.full(n, start), np.full(n, share))


def reached(of: Pace, days: Calendar, need: float, place: int) -> float:
    return float(chance(of, days, asked(need), place)[0])


# Chi-square with n degrees of freedom is a gamma of mean n and variance 2 n. NIST/SEMATECH e-Handbook 1.3.6.7.4,
# as reprinted (seen): degrees, value exceeded with probability 0.90 (printed to three places).
LOWER = [(1, 0.016), (5, 1.610), (10, 4.865), (15, 8.547), (20, 12.443), (30, 20.599), (50, 37.689), (100, 82.358)]
# The same handbook's upper values, exceeded with probability 0.10 (the first five seen in a reprint, the others
# from memory).
UPPER = [(1, 2.706), (2, 4.605), (3, 6.251), (4, 7.779), (5, 9.236), (10, 15.987), (20, 28.412), (50, 63.167)]


@pytest.mark.parametrize(("degrees", "value"), LOWER)
def test_a_figure_is_passed_with_ninety_in_a_hundred_where_the_table_says_so(degrees: int, value: float) -> None:
    days = calendar(MONDAY, degrees, ())
    either = [reached(pace(1, 2), days, value + off, degrees - 1) for off in (-0.0005, 0.0005)]
    assert either[0] >= 0.9 >= either[1]


@pytest.mark.parametrize(("degrees", "value"), UPPER)
def test_a_figure_is_passed_with_ten_in_a_hundred_where_the_table_says_so(degrees: int, value: float) -> None:
    days = calendar(MONDAY, degrees, ())
    either = [reached(pace(1, 2), days, value + off, degrees - 1) for off in (-0.0005, 0.0005)]
    assert either[0] >= 0.1 >= either[1]


@pytest.mark.parametrize(("days", "need"), [(3, 1.0), (5, 5.0), (12, 9.5), (30, 25.0), (60, 72.0)])
def test_whole_shapes_are_sums_of_poisson_terms(days: int, need: float) -> None:
    """Q(n + 1, z) = exp(-z) (1 + z + … + z^n/n!), DLMF 8.4.10 (number from memory): so P(S >= x) = P(Poisson(x) <
    m) where variance and mean are equal."""
    over = reached(pace(1, 1), calendar(MONDAY, days, ()), need, days - 1)
    assert over == pytest.approx(stats.poisson.cdf(days - 1, need), abs=1e-12)


@pytest.mark.parametrize(
    ("need", "mean", "cv"), [(50, 4, 0.5), (250, 5, 0.6), (100, 2, 1.0), (40, 3, 1.5), (500, 4, 0.8)]
)
def test_days_of_independent_gamma_use_are_exact(need: float, mean: float, cv: float) -> None:
    """Use of mean mu and coefficient of variation c on every day: the sum of h days is exactly gamma of shape
    h/c^2, so the days follow from scipy.stats.gamma by walking through them."""
    days = calendar(MONDAY, 900, ())
    found = crossings(pace(mean, (mean * cv) ** 2), days, asked(need))
    ends = stats.gamma.sf(need, np.arange(1, 901) / cv**2, scale=mean * cv**2)
    middles = stats.gamma.sf(need, (np.arange(1, 901) - 0.5) / cv**2, scale=mean * cv**2)
    assert found.likely[0] == int(np.argmax(ends >= 0.5))
    assert found.early[0] == min(int(np.argmax(middles >= 0.1)), found.likely[0])
    assert found.late[0] == max(int(np.argmax(middles >= 0.9)) - 1, found.likely[0])


@pytest.mark.parametrize(("need", "mean", "cv"), [(200, 4, 0.4), (250, 5, 0.5), (1000, 5, 0.7), (300, 2, 0.6)])
def test_far_figures_are_passed_as_a_drifting_particle_passes_them(need: float, mean: float, cv: float) -> None:
    """First passage of Brownian motion with drift v and variance s^2 a day to a is inverse Gaussian of mean a/v and
    shape a^2/s^2 (Schrödinger 1915; Tweedie 1957; seen). scipy's mu is mean/shape, its scale the shape. A day
    of the range is one whose middle lies inside it, the likely one that whose end has passed the median: half a day
    for the rounding, half for the overshoot of a gamma step."""
    found = crossings(pace(mean, (mean * cv) ** 2), calendar(MONDAY, 1098, ()), asked(need))
    shape = need**2 / (mean * cv) ** 2
    passage = stats.invgauss(mu=need / mean / shape, scale=shape)
    for place, probability, off in ((found.early, 0.1, 0.0), (found.likely, 0.5, 0.5), (found.late, 0.9, 1.0)):
        assert place[0] == pytest.approx(passage.ppf(probability) - off, abs=1.0)


def test_renewal_theory_gives_the_middle_and_the_width() -> None:
    """The number of renewals by x is about normal, mean x/mu, variance s^2 x/mu^3 (Cox, Renewal Theory, 1962, 3.3;
    Feller vol. 2, XI.5; from memory)."""
    mean, var, need = 5.0, 9.0, 2000.0
    found = crossings(pace(mean, var), calendar(MONDAY, 1098, ()), asked(need))
    middle, width = need / mean, (var * need / mean**3) ** 0.5
    assert found.likely[0] == pytest.approx(middle, abs=1.5)
    assert found.late[0] - found.early[0] == pytest.approx(2 * stats.norm.ppf(0.9) * width, abs=1.5)


@pytest.mark.parametrize(("need", "level", "psi"), [(80, 2, 0.04), (150, 3, 0.1), (60, 1, 0.3)])
def test_counts_at_a_doubtful_rate_are_negative_binomial(need: int, level: int, psi: float) -> None:
    """Poisson counts whose rate is gamma distributed are negative binomial with variance m + psi m^2 (Greenwood
    and Yule 1920; from memory); our gamma with the same two moments passes within a day, half a count corrected."""
    found = crossings(pace(level, level, psi=psi), calendar(MONDAY, 1098, ()), asked(need - 0.5))
    mean = level * np.arange(1, 1099)
    ends = stats.nbinom.sf(need - 1, 1 / psi, 1 / (1 + psi * mean))
    for place, probability in ((found.early, 0.1), (found.likely, 0.5), (found.late, 0.9)):
        assert place[0] == pytest.approx(float(np.argmax(ends >= probability)), abs=2.0)


HOLIDAYS = (
    date(2027, 5, 31),
    date(2027, 7, 5),
    date(2027, 9, 6),
    *(date(2027, 7, 26) + timedelta(n) for n in range(12)),
)


def working_days(week: tuple[object, ...], start: date, closed: tuple[date, ...]) -> list[date]:
    """Working days by dateutil: RFC 5545 daily rules with the closed days as EXDATE."""
    days = rruleset()
    days.rrule(rrule(DAILY, dtstart=datetime.combine(start, datetime.min.time()), count=700, byweekday=week))
    for day in closed:
        days.exdate(datetime.combine(day, datetime.min.time()))
    return [moment.date() for moment in days]


@pytest.mark.parametrize(
    ("week", "named"),
    [
        (WEEKDAYS, (MO, TU, WE, TH, FR)),
        ((1.0,) * 6 + (0.0,), (MO, TU, WE, TH, FR, SA)),
        ((1, 0, 1, 0, 1, 0, 0), (MO, WE, FR)),
    ],
)
@pytest.mark.parametrize("start", [date(2027, 3, 1), date(2027, 7, 23), date(2027, 12, 30), date(2028, 2, 27)])
def test_use_without_scatter_takes_as_many_working_days_as_dateutil_counts(
    week: tuple[float, ...], named: tuple[object, ...], start: date
) -> None:
    days = calendar(start, 1000, HOLIDAYS)
    steady = pace(2, 1e-9, week=week)
    open_days = working_days(named, start, HOLIDAYS)
    needs = [1, 9, 41, 99, 201]
    found = crossings(steady, days, asked(*needs))
    for row, need in enumerate(needs):
        expected = open_days[-(-need // 2) - 1]
        assert {days.date_of(place[row]) for place in (found.early, found.likely, found.late)} == {expected}


@pytest.mark.parametrize("zone", ["America/Chicago", "Europe/Berlin", "Australia/Lord_Howe", "Asia/Kolkata"])
def test_days_of_the_shop_begin_where_dateutil_says_over_a_change_of_the_clocks(zone: str) -> None:
    """Every hour of the days about each change of 2026 falls on the date that dateutil's own zone files give."""
    there = tz.gettz(zone)
    for day in (
        date(2026, 3, 7),
        date(2026, 3, 28),
        date(2026, 4, 4),
        date(2026, 10, 3),
        date(2026, 10, 24),
        date(2026, 10, 31),
    ):
        for hour in range(72):
            at = datetime(day.year, day.month, day.day, tzinfo=tz.UTC) + timedelta(hours=hour, minutes=30)
            ms = int(at.timestamp() * 1000)
            wall = at.astimezone(there)
            assert local(zone)(ms).replace(tzinfo=None) == wall.replace(tzinfo=None)
            assert shop_date(ms, zone) == wall.date()
        start = datetime(day.year, day.month, day.day, 12, tzinfo=there)
        assert day_start_ms(day, zone, 12) == int(start.timestamp() * 1000)
