"""How fast meters run: level, week and scatter from daily use, and how far both are drawn to the declared week."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.core.pace import DECLARED_CV, MEASURED_DAYS, Pace, basis_of, declared_rate, fit, spread_and_fit
from webapp.core.usage import Days, UsageError

MONDAY = date(2026, 3, 2)


def days(use: np.ndarray, seen: np.ndarray | None = None) -> Days:
    """Daily use from a Monday on, [n, d]; all of it seen unless told otherwise."""
    use = np.atleast_2d(np.array(use, dtype=float))
    known = np.ones(use.shape, dtype=bool) if seen is None else np.broadcast_to(seen, use.shape)
    return Days(MONDAY, use, known, np.ones(use.shape, dtype=np.int64))


def weeks(week: list[float], count: int) -> np.ndarray:
    return np.tile(np.array(week, dtype=float), count)


def one(pace: Pace, name: str) -> float:
    return float(getattr(pace, name)[0])


def test_a_steady_year_gives_its_own_week_and_little_doubt() -> None:
    week = [6.0, 6, 6, 6, 4, 0, 0]
    pace = fit(days(weeks(week, 52)), [40.0])
    assert pace.a_week[0] == pytest.approx(28, rel=0.005)
    assert pace.mean[0] == pytest.approx(week, abs=0.15)
    assert pace.mean[0, 5] == pace.mean[0, 6] == 0
    assert one(pace, "days") == 260 and basis_of(260) == "measured"
    assert one(pace, "psi") < 0.01 and one(pace, "kappa") < 0.2


def test_nothing_known_is_the_declared_week_in_five_equal_days() -> None:
    pace = fit(days(np.zeros(70), np.zeros(70, dtype=bool)), [12.0])
    assert pace.mean[0] == pytest.approx([2.4] * 5 + [0, 0])
    assert one(pace, "days") == 0 and basis_of(0) == "declared"
    assert one(pace, "psi") >= DECLARED_CV**2
    assert np.isnan(pace.idle).all()


def test_nothing_known_and_nothing_declared_runs_nowhere() -> None:
    pace = fit(days(np.zeros(70), np.zeros(70, dtype=bool)), [None])
    assert pace.a_week[0] == 0 and np.isfinite(pace.mean).all() and np.isfinite(pace.var).all()


def test_few_weeks_lie_between_what_was_seen_and_what_was_declared_and_move_to_what_was_seen() -> None:
    levels = []
    for count in (1, 2, 4, 12, 40):
        pace = fit(days(weeks([2.0] * 5 + [0, 0], count)), [30.0])
        levels.append(float(pace.a_week[0]))
    assert all(10 < level < 30 for level in levels) and levels == sorted(levels, reverse=True)
    assert levels[-1] == pytest.approx(10, rel=0.01)


def test_shrinkage_is_the_textbook_normal_one() -> None:
    """Posterior mean of a normal level with prior N(m0, t^2) after n weeks of variance s^2: (n x + k m0)/(n + k),
    k = s^2/t^2 (Gelman et al., Bayesian Data Analysis, 2.5; from memory)."""
    use, declared = weeks([3.0, 1, 3, 1, 3, 0, 0], 2), 20.0
    pace = fit(days(use), [declared])
    fade = 0.5 ** (1 / np.array([2.0, 6.0, 26.0]))
    n = 1 + fade
    # The week's variance is the one that the fit itself found, freed of its scaling to the level.
    scale = pace.a_week[0] / (11 * 2 + 0.1125 * declared) * (2 + 0.1125)
    cv2 = float(pace.var[0].sum()) / scale / ((11 * 2 + 0.1125 * declared) / (2 + 0.1125)) ** 2
    k = cv2 / DECLARED_CV**2
    levels = (n * 11 + k * declared) / (n + k)
    assert min(levels) - 0.2 <= pace.a_week[0] <= max(levels) + 0.2


def test_newer_weeks_weigh_more_where_the_level_has_moved() -> None:
    use = np.concatenate([weeks([2.0] * 5 + [0, 0], 30), weeks([6.0] * 5 + [0, 0], 12)])
    moved = fit(days(use), [None])
    assert moved.a_week[0] == pytest.approx(30, rel=0.1)


def test_a_level_that_moves_drifts_and_one_that_scatters_does_not() -> None:
    rng = np.random.default_rng(5)
    still = np.array([rng.gamma(4, 0.5, 364) for _ in range(30)])
    season = still * (1 + 0.6 * np.sin(np.arange(364) * 2 * np.pi / 364))
    calm, moves = fit(days(still), [None] * 30), fit(days(season), [None] * 30)
    assert np.median(moves.drift) > 5 * np.median(calm.drift)


def test_days_that_come_in_campaigns_scatter_more_than_days_that_come_alone() -> None:
    rng = np.random.default_rng(6)
    alone = rng.permuted(np.tile(np.repeat([4.0, 0.0], 182), (20, 1)), axis=1)
    campaigns = np.tile(np.tile(np.repeat([4.0, 0.0], 14), 13), (20, 1))
    assert np.median(fit(days(campaigns), [None] * 20).kappa) > 2 * np.median(fit(days(alone), [None] * 20).kappa)


def test_scatter_by_weekday_and_days_without_use() -> None:
    use = weeks([4.0, 4, 4, 4, 4, 0, 0], 40)
    use[0::14] = 0  # every other Monday nothing runs
    pace = fit(days(use), [None])
    assert pace.idle[0] == pytest.approx([0.5, 0, 0, 0, 0, 1, 1])
    assert pace.var[0, 0] == pytest.approx(4, rel=0.25)  # a coin between 0 and 4 has variance 4
    assert pace.var[0, 2] < 0.5 and pace.mean[0, 0] == pytest.approx(2, rel=0.15)


def test_spread_readings_scatter_as_the_days_did() -> None:
    """An amount spread over five days has a fifth of a day's variance a day; the scatter found is the day's."""
    rng = np.random.default_rng(7)
    by_day = np.zeros((40, 364))
    working = np.arange(364) % 7 < 5
    by_day[:, working] = rng.gamma(4, 1, (40, 260))
    means = by_day.reshape(40, 52, 7)[:, :, :5].mean(axis=2)
    spread = np.zeros_like(by_day)
    spread[:, working] = np.repeat(means, 5, axis=1)
    told = Days(MONDAY, spread, np.ones_like(spread, dtype=bool), np.where(working, 5, 1) * np.ones((40, 1), dtype=int))
    found = fit(told, [None] * 40).var[:, :5].mean()
    assert found == pytest.approx(4, rel=0.25)


def test_readings_are_spread_by_the_week_that_the_shop_shows_elsewhere() -> None:
    """One meter is known by the day, with short Fridays; the other is read on Sundays alone."""
    asked: list[np.ndarray] = []

    def spread(profiles: np.ndarray) -> Days:
        asked.append(profiles)
        week = np.array([4.0, 4, 4, 4, 2, 0, 0])
        return days(np.array([np.tile(week, 30), np.tile(profiles[1] * 36, 30)]))

    _, pace = spread_and_fit(spread, [None, None], [True, False])
    assert len(asked) == 2 and asked[0][1] == pytest.approx([0.2] * 5 + [0, 0])
    # 0.5 in truth; each fit draws it a little to equal days: (2 * 30 + 3 * 3.6) / (4 * 30 + 3 * 3.6), and once more.
    assert asked[1][1, 4] / asked[1][1, 0] == pytest.approx(0.541, abs=0.001)
    assert pace.mean[1, 4] / pace.mean[1, 0] == pytest.approx(0.579, abs=0.001)
    for counted in ([True, True], [False, False]):
        asked.clear()
        spread_and_fit(spread, [None, None], counted)
        assert len(asked) == 1


def test_unseen_days_count_for_nothing() -> None:
    use = weeks([4.0] * 5 + [0, 0], 20)
    seen = np.ones(140, dtype=bool)
    seen[35:70] = False
    hidden = use.copy()
    hidden[35:70] = 99
    assert fit(days(hidden, seen), [10.0]).a_week[0] == pytest.approx(20, rel=0.02)


uses = st.lists(st.floats(0, 20).map(lambda v: round(v, 2)), min_size=14, max_size=120)


@settings(deadline=None)
@given(uses, st.floats(0.1, 100))
def test_the_unit_scales_the_level_and_leaves_the_ratios(use: list[float], unit: float) -> None:
    here, there = (fit(days(np.array(use) * factor), [10.0 * factor]) for factor in (1.0, unit))
    assert there.mean == pytest.approx(here.mean * unit, rel=1e-6, abs=1e-9)
    assert there.var == pytest.approx(here.var * unit**2, rel=1e-6, abs=1e-9)
    for name in ("kappa", "psi", "drift", "weeks", "days"):
        assert getattr(there, name) == pytest.approx(getattr(here, name), rel=1e-5)


@settings(deadline=None)
@given(st.lists(uses, min_size=2, max_size=4))
def test_meters_do_not_know_of_each_other(many: list[list[float]]) -> None:
    shortest = min(map(len, many))
    use = np.array([row[-shortest:] for row in many])
    together = fit(days(use), [10.0] * len(use))
    for row, own in enumerate(use):
        alone = fit(days(own), [10.0])
        assert together.mean[row] == pytest.approx(alone.mean[0], rel=1e-9, abs=1e-12)
        assert together.drift[row] == pytest.approx(alone.drift[0], rel=1e-6)


@settings(deadline=None)
@given(uses, st.lists(st.booleans(), min_size=120, max_size=120))
def test_every_figure_is_finite_and_none_is_negative(use: list[float], seen: list[bool]) -> None:
    pace = fit(days(np.array(use), np.array(seen[: len(use)])), [None])
    for name in ("mean", "var", "kappa", "psi", "drift", "weeks", "days"):
        values = getattr(pace, name)
        assert np.isfinite(values).all() and (values >= 0).all()


@pytest.mark.parametrize(
    ("kind", "unit", "rate"),
    [("spindle_hours", "h", 16.0), ("power_hours", "h", 36.0), ("belt_minutes", "min", 240.0), ("cuts", "cuts", None),
     ("cut_area", "sq in", None), ("spindle_hours", "furlongs", None)],
)  # fmt: skip
def test_what_the_hours_a_week_say_of_a_meter(kind: str, unit: str, rate: float | None) -> None:
    assert declared_rate(kind, unit, 40) == (None if rate is None else pytest.approx(rate))
    assert declared_rate(kind, unit, 0) is None


def test_a_rate_is_called_measured_after_four_weeks() -> None:
    assert [basis_of(n) for n in (0, 1, MEASURED_DAYS - 1, MEASURED_DAYS)] == ["declared", "mixed", "mixed", "measured"]


def test_a_rate_for_every_meter() -> None:
    with pytest.raises(UsageError) as caught:
        fit(days(np.zeros((2, 14))), [None])
    assert caught.value.field == "declared"


def test_the_window_may_be_shorter_than_a_week() -> None:
    assert fit(days(np.array([3.0, 0, 2])), [10.0]).a_week[0] > 0
    assert MONDAY + timedelta(days=1) > MONDAY
