"""What a job's own numbers say for or against each cause of a fault."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from pourwright.air import surface_margin
from pourwright.plan.clocks import bubbles_up
from pourwright.plan.coats import Poured
from pourwright.plan.context import Context
from pourwright.record.entries import CupEntry, FaultEntry
from pourwright.record.happened import air_seen, steps_done
from pourwright.record.looks import DoneJob
from pourwright.record.moments import seconds
from pourwright.words import Amount, Moment, Own, joined, say

MOST = 3.0  # evidence never outweighs this many nats either way [-]

RELEASED = {"clean": "clean", "tacky": "tacky", "soft": "soft", "streaks": "with wet streaks"}
"""How a cup's left-over came out, in words [-]."""


def _film_words(came: float, planned: float) -> str:
    return say(
        "the film came out {came:.2f}, {planned:.2f} was planned",
        came=Amount(came * 1e3, "mm"),
        planned=Amount(planned * 1e3, "mm"),
    )


@dataclass(frozen=True)
class Sign:
    """What one number says of a cause: `strength` in nats (above 0: for it) and the words."""

    strength: float
    words: str


class Evidence:
    """The numbers of one recorded job around one fault.

    `done` [-] is the job, `fault` [-] what was found.
    """

    def __init__(self, done: DoneJob, fault: FaultEntry) -> None:
        self.done = done
        self.fault = fault
        self.start = done.record.start
        self.steps = steps_done(done.record)

    def sign(self, name: str) -> Sign | None:
        """The sign called `name` [-], None when the record does not tell."""
        found = getattr(self, f"_{name}", None)
        out: Sign | None = found() if found is not None else None
        if out is None:
            return None
        return Sign(float(np.clip(out.strength, -MOST, MOST)), out.words)

    # ------------------------------------------------------------ what it is about
    @cached_property
    def coat(self) -> Poured | None:
        """The coat with the fault; the last poured one when nobody said."""
        coats = {c.id: c for c in self.done.planned.timed.poured}
        wanted = self.fault.coat or (self.fault.cup or "").partition("/")[0]
        if wanted in coats:
            return coats[wanted]
        seen = [c for c in coats.values() if any(s.startswith(f"{c.id}-mix") for s in self.steps)]
        return (seen or list(coats.values()))[-1]

    @cached_property
    def cups(self) -> list[CupEntry]:
        """The cups in question."""
        every: list[CupEntry] = self.done.record.of_kind("cup")
        if self.fault.cup is not None:
            return [c for c in every if c.cup == self.fault.cup]
        return [c for c in every if self.coat is not None and c.coat == self.coat.id]

    @cached_property
    def air(self) -> Context:
        """The job with the air as it was."""
        return self.done.air

    @cached_property
    def spread_end(self) -> float | None:
        """When spreading of the coat really ended [s]."""
        if self.coat is None:
            return None
        ends = [v[1] for k, v in self.steps.items() if k.startswith(f"{self.coat.id}-spread-")]
        return max(ends) if ends else None

    def _of(self, step: str) -> tuple[float, float] | None:
        return self.steps.get(f"{self.coat.id}-{step}") if self.coat is not None else None

    # ------------------------------------------------------------ cups
    def _errors(self) -> list[tuple[str, float]]:
        """Relative error of B for its A, by cup."""
        if self.coat is None:
            return []
        right = 1.0 / self.coat.ratio.a_per_b_mass
        return [(c.cup, c.b / c.a / right - 1.0) for c in self.cups]

    def _off_ratio(self) -> Sign | None:
        errors = self._errors()
        if not errors:
            return None
        cup, worst = max(errors, key=lambda e: abs(e[1]))
        # 3 % does no harm, 10 % always does (the band of cure.ratio)
        strength = 2.2 * math.log(max(abs(worst), 1e-3) / 0.05)
        words = say(
            "cup {cup} is {off:.1f} % off its ratio ({word})",
            cup=Own(cup),
            off=abs(worst) * 100,
            word="too much hardener" if worst > 0 else "too little hardener",
        )
        seen = self._released(cup)
        if seen is not None:
            strength += {"clean": -1.5, "tacky": 0.7, "soft": 0.7, "streaks": -0.5}[seen]
            left = say("its left-over came out of the cup {seen}", seen=RELEASED[seen])
            words = joined("; ", [words, left])
        return Sign(strength, words)

    def _released(self, cup: str) -> str | None:
        """What the last cup release check of a cup showed."""
        found = [
            c.release
            for c in self.done.record.of_kind("check")
            if c.what == "cup release" and c.cup == cup
        ]
        return found[-1] if found else None

    def _much_hardener(self) -> Sign | None:
        errors = self._errors()
        if not errors:
            return None
        cup, worst = max(errors, key=lambda e: e[1])
        if worst <= 0.01:
            return Sign(-1.5, say("no cup has more than 1 % too much hardener"))
        return Sign(
            2.0 * math.log(worst / 0.04),
            say("cup {cup} has {much:.1f} % too much", cup=Own(cup), much=worst * 100),
        )

    def _short_mixing(self) -> Sign | None:
        known = [(c.cup, c.mixing) for c in self.cups if c.mixing is not None]
        if not known:
            return None
        cup, least = min(known, key=lambda k: k[1])
        strength = 1.5 * math.log(150.0 / least)
        words = say(
            "cup {cup} was stirred {stirred:.1f}", cup=Own(cup), stirred=Amount(least / 60, "min")
        )
        streaked = [c for c, _ in known if self._released(c) == "streaks"]
        if streaked:
            wet = say("wet streaks in cup {cup}", cup=Own(streaked[0]))
            strength, words = strength + 2.5, joined("; ", [words, wet])
        return Sign(strength, words)

    def _much_paste(self) -> Sign | None:
        if not self.cups:
            return None
        cup = max(self.cups, key=lambda c: sum(c.pastes.values()) / (c.a + c.b))
        load = sum(cup.pastes.values()) / (cup.a + cup.b)
        return Sign(
            2.0 * math.log(max(load, 1e-3) / 0.06),
            say("cup {cup} holds {load:.1%} paste", cup=Own(cup.cup), load=load),
        )

    def _poured_late(self) -> Sign | None:
        if self.coat is None:
            return None
        known = [(c.cup, (c.poured - c.at).total_seconds()) for c in self.cups if c.poured]
        if not known:
            return None
        cup, stood = max(known, key=lambda k: k[1])
        middle = float(np.median(self.coat.within_s))
        words = say(
            "cup {cup} stood {stood:.0f}; it keeps about {keeps:.0f}",
            cup=Own(cup),
            stood=Amount(stood / 60, "min"),
            keeps=Amount(middle / 60, "min"),
        )
        return Sign(2.5 * math.log(max(stood, 30.0) / middle), words)

    # ------------------------------------------------------------ film
    def _film(self) -> tuple[float, float] | None:
        for a in self.done.accounts:
            if self.coat is not None and a.coat == self.coat.id and a.film_m is not None:
                return a.film_m, a.film_planned_m
        return None

    def _thin_film(self) -> Sign | None:
        film = self._film()
        if film is None:
            return None
        words = _film_words(*film)
        return Sign(4.0 * math.log(film[1] / max(film[0], 1e-5)) - 0.5, words)

    def _thick_film(self) -> Sign | None:
        film = self._film()
        if film is None:
            return None
        words = _film_words(*film)
        return Sign(4.0 * math.log(max(film[0], 1e-5) / film[1]) - 0.5, words)

    # ------------------------------------------------------------ air
    @cached_property
    def _soft(self) -> np.ndarray | None:
        """Moments while the film was soft [s]."""
        end = self.spread_end
        if end is None or self.coat is None:
            return None
        found = self.done.planned.timed.clocks[self.coat.id].at(end)
        firm = float(np.median(found.film.when_conversion(found.film.resin.tack)))
        hours = (min(firm, end + 48 * 3600.0) if math.isfinite(firm) else end + 24 * 3600.0) - end
        return np.arange(end, end + max(hours, 3600.0), 600.0)

    @cached_property
    def _climate(self) -> tuple[np.ndarray, np.ndarray] | None:
        """Air [K] and humidity [-] over the soft time, as measured where it was."""
        t = self._soft
        if t is None:
            return None
        seen = air_seen(self.done.record)
        humid = np.isfinite(seen.humidity)
        share = self.air.humidity_at(t)
        if humid.any():
            near = np.interp(t, seen.times_s[humid], seen.humidity[humid], left=np.nan,
                             right=np.nan)  # fmt: skip
            share = np.where(np.isfinite(near), near, share)
        return np.asarray(self.air.air.at(t)), np.clip(share, 0.02, 1.0)

    def _dew_margin(self) -> Sign | None:
        if self._climate is None or self._soft is None:
            return None
        air, humidity = self._climate
        surface = air - self.done.planned.ctx.job.site.air.surface_below_air
        found = surface_margin(self._soft, air, humidity, surface)
        at = self.done.planned.ctx.hours.moment(found.worst_time)
        words = say(
            "least {margin:.1f} over the dew point while soft ({at})",
            margin=Amount(found.worst, "K"),
            at=Moment(at),
        )
        return Sign(0.8 * (3.0 - found.worst), words)

    def _humid(self) -> Sign | None:
        if self._climate is None:
            return None
        mean = float(np.mean(self._climate[1]))
        return Sign(
            8.0 * (mean - 0.70), say("{mean:.0%} humidity on average while soft", mean=mean)
        )

    def _cold(self) -> Sign | None:
        if self._climate is None:
            return None
        mean = float(np.mean(self._climate[0])) - 273.15
        return Sign(
            0.35 * (16.0 - mean), say("{mean:.0f} on average while soft", mean=Amount(mean, "degC"))
        )

    def _warming(self) -> Sign | None:
        end = self.spread_end
        if end is None:
            return None
        rise = float(self.air.air.at(end + 5400.0) - self.air.air.at(end))
        words = say(
            "the room rose by {change:.1f} in the 90 min after the pour"
            if rise > 0
            else "the room fell by {change:.1f} in the 90 min after the pour",
            change=Amount(abs(rise), "K"),
        )
        return Sign(0.8 * rise, words)

    # ------------------------------------------------------------ moves
    def _torch_early(self) -> Sign | None:
        torch, end = self._of("torch"), self.spread_end
        if torch is None or end is None or self.coat is None:
            return None
        film = self.done.planned.timed.clocks[self.coat.id].at(end).film
        up = float(np.median(bubbles_up(film, end)))
        if not math.isfinite(up):
            return Sign(
                2.0, say("bubbles never all rose in this film; it was torched all the same")
            )
        need, was = max(up - end, 60.0), max(torch[1] - end, 30.0)
        words = say(
            "torched {was:.0f} after spreading; bubbles need {need:.0f}",
            was=Amount(was / 60, "min"),
            need=Amount(need / 60, "min"),
        )
        return Sign(2.0 * math.log(need / was), words)

    def _torch_late(self) -> Sign | None:
        torch, end = self._of("torch"), self.spread_end
        if torch is None or end is None or self.coat is None:
            return None
        level = self.done.planned.timed.clocks[self.coat.id].at(end).windows["level"].end()
        if level is None:
            return None
        was, closes = torch[0] - end, max(level.p50 - end, 300.0)
        words = say(
            "torched {was:.0f} after spreading; marks level for {closes:.0f}",
            was=Amount(was / 60, "min"),
            closes=Amount(closes / 60, "min"),
        )
        return Sign(2.0 * math.log(max(was, 60.0) / closes), words)

    def _edge_early(self) -> Sign | None:
        edges, end = self._of("edges"), self.spread_end
        if edges is None or end is None or self.coat is None:
            return None
        opens = self.done.planned.timed.clocks[self.coat.id].at(end).windows["edges"].start()
        if opens is None:
            return None
        due, was = max(opens.p50 - end, 300.0), max(edges[1] - end, 60.0)
        words = say(
            "last pushed and wiped {was:.0f} after spreading; it stops running after {due:.0f}",
            was=Amount(was / 60, "min"),
            due=Amount(due / 60, "min"),
        )
        return Sign(0.8 * math.log(due / was), words)

    def _recoat_closed(self) -> Sign | None:
        if self.coat is None:
            return None
        timed = self.done.planned.timed
        coats = list(timed.backs if self.coat.back else timed.coats)
        if coats.index(self.coat) == 0:
            return None
        below = coats[coats.index(self.coat) - 1]
        ends = [v[1] for k, v in self.steps.items() if k.startswith(f"{below.id}-spread-")]
        starts = [v[0] for k, v in self.steps.items() if k.startswith(f"{self.coat.id}-mix-")]
        if not ends or not starts:
            return None
        close = self.done.planned.timed.clocks[below.id].at(max(ends)).windows["recoat"].end_s
        late = float(np.mean(min(starts) > close))
        hours = (min(starts) - max(ends)) / 3600.0
        words = say(
            "poured {hours:.1f} after the coat below; its window had closed with {late:.0%}",
            hours=Amount(hours, "h"),
            late=late,
        )
        if f"{below.id}-sand" in self.steps:
            return Sign(-2.0, joined(", ", [words, say("but it was sanded")]))
        return Sign(math.log((late + 0.02) / (1.02 - late)), words)

    def _sanded_same_day(self) -> Sign | None:
        end = self.spread_end
        if end is None:
            return None
        near = [k for k, v in self.steps.items() if "sand" in k and 0 < end - v[0] < 8 * 3600.0]
        if near:
            hours = min((end - self.steps[k][1]) / 3600.0 for k in near)
            return Sign(
                1.0,
                say("sanding ended {hours:.1f} before the pour ended", hours=Amount(hours, "h")),
            )
        return Sign(-0.7, say("no sanding in the eight hours before the pour"))

    # ------------------------------------------------------------ piece
    def _bow_expected(self) -> Sign | None:
        found = [c for c in self.done.planned.plan.checks if c.name.startswith("endure.bow")]
        if not found:
            return None
        worst = min(found, key=lambda c: c.margin)
        words = say(
            "the plan expected {value:.1f} ({title})",
            value=Amount(worst.value, worst.unit),
            title=worst.title,
        )
        return Sign(1.5 if worst.passed == "no" else -0.5, words)

    def _damp_core(self) -> Sign | None:
        checks = [
            c.moisture_percent for c in self.done.record.of_kind("check") if c.what == "moisture"
        ]
        was = self.done.planned.ctx.job.site.wood_moisture
        reading = max(checks) if checks else was
        if reading is None:
            return None
        return Sign(
            0.4 * (reading - 10.0), say("the core read {reading:.1f} % moisture", reading=reading)
        )

    def _sharp_edge(self) -> Sign | None:
        radii = [
            e.profile.round_over
            for s in self.done.planned.ctx.survey.surfaces
            for e in s.edges
            if e.kind == "free" and self.fault.surface in (None, s.name)
        ]
        if not radii:
            return None
        least = min(radii)
        words = say("least round-over {least:.0f}", least=Amount(least * 1e3, "mm"))
        return Sign(2.0 * math.log(0.003 / max(least, 3e-4)), words)

    def moment(self) -> float:
        """When the fault was found [s since the first midnight]."""
        return seconds(self.fault.at, self.start)
