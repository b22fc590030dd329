"""Batches of a coat: cups and clock, limited by pot life, cup size, pour rate and crew."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from pourwright.errors import InputError
from pourwright.mix.batch import Batch, BatchPlan, Crew, Limits
from pourwright.mix.checks import check_limits, missing_hands, too_heavy, what_to_say
from pourwright.mix.cups import Bucket, Cup, Measuring, make_bucket, make_cup
from pourwright.mix.ratio import ResinRatio, portion
from pourwright.mix.shades import Shade, check_shades
from pourwright.mix.stretches import Stretch, split_pour
from pourwright.mix.volume import CoatPiece, Loss, check_pieces
from pourwright.words import Amount, say

MOST_CUPS = 2000


def plan_batches(
    coat: str,
    pieces: Sequence[CoatPiece],
    shades: Sequence[Shade],
    ratio: ResinRatio,
    limits: Limits,
    crew: Crew | None = None,
    loss: Loss | None = None,
    measuring: Measuring | None = None,
    over: float = 1.0,
    vein_wait: float = 900.0,
    prefix: str = "",
) -> BatchPlan:
    """Ordered batches of a coat with their cups and times.

    Parameters
    ----------
    coat : str [-]
    pieces : sequence of CoatPiece [m2, m]
        In the order of pouring; boards get a batch of their own.
    shades : sequence of Shade [-]
        Shares of the net volume; every field batch holds all field shades of its stretches.
    ratio : ResinRatio [-]
    limits : Limits [s, kg, m3]
    crew : Crew or None [-, s]
    loss : Loss or None [-, m3]
    measuring : Measuring or None [kg, m3]
    over : float [-]
        Over-mix factor on everything, from `over_mix`.
    vein_wait : float [s]
        From pouring a stretch to laying its veins (15 min in a mild shop, common practice).
    prefix : str [-]
        Put before the numbers of field batches, so that cups of another side are told apart.

    Returns
    -------
    plan : BatchPlan [m3], [kg], [s]
        Cup volumes = over (net share + cups per_cup + share of per_coat) / (1 - loss share), up
        to the least cup, so they add up to `coat_volume(..., cups).mixed` times `over` plus
        `spare`. The oldest cup of a batch is emptied within `pour_within`; when no batch size
        can do that, the plan says so in `warnings` and `feasible` is False.

    Raises
    ------
    InputError
        Limits or rates not above zero, and all that the parts refuse.
    """
    crew, loss = crew or Crew(), loss or Loss()
    measuring = measuring or Measuring()
    check_pieces(coat, pieces, loss)
    check_shades(coat, shades)
    check_limits(limits, crew, over)
    maker = _Maker(coat, pieces, tuple(shades), ratio, limits, crew, loss, measuring, over)
    warnings: list[str] = []
    batches: list[Batch] = []
    most = maker.most_net()
    in_time = most > 0
    if not in_time:
        most = maker.most_net(clock=False)
        warnings.append(maker.why_not())
    for piece in (p for p in pieces if p.board and p.net > 0):
        for group in split_pour([piece], most):
            batches.append(maker.board(f"S{len(batches) + 1}", tuple(group), vein_wait))
    main = [p for p in pieces if not p.board and p.net > 0]
    fields: list[Batch] = []
    if main:
        clock = 0.0
        for k, group in enumerate(split_pour(main, most), 1):
            batch = maker.field(f"{prefix}{k}", tuple(group), clock, fields[-1] if fields else None)
            fields.append(batch)
            clock = batch.spread_end
        batches += fields
        batches += maker.veins(fields, vein_wait)
    warnings += what_to_say(batches, fields, limits)
    warnings += missing_hands([b for b in batches if b.kind != "board"], crew)
    kept = all(b.margin >= -1e-6 and not too_heavy(b, limits) for b in batches)
    return BatchPlan(coat, tuple(batches), kept and in_time, tuple(dict.fromkeys(warnings)))


class _Maker:
    """Makes cups and batches for one coat; keeps what is the same for all of them."""

    def __init__(
        self,
        coat: str,
        pieces: Sequence[CoatPiece],
        shades: tuple[Shade, ...],
        ratio: ResinRatio,
        limits: Limits,
        crew: Crew,
        loss: Loss,
        measuring: Measuring,
        over: float,
    ) -> None:
        self.coat, self.ratio, self.limits, self.crew = coat, ratio, limits, crew
        self.loss, self.measuring, self.over = loss, measuring, over
        self.field_shades = tuple(s for s in shades if s.role == "field")
        self.late_shades = tuple(s for s in shades if s.role != "field")
        self.net = math.fsum(p.net for p in pieces)
        area = math.fsum(p.count * (p.flat + p.strip) for p in pieces)
        self.area_per_net = area / self.net if self.net else 0.0
        self.caps = {s.name: self._cap(s) for s in shades}

    def _cap(self, shade: Shade) -> float:
        """Largest filling of a cup of this shade [m3]."""
        unit = portion(1.0, self.ratio, shade.pigments)
        return min(self.limits.largest_cup / unit.mass, self.limits.vessel)

    def needs(self, net: float, shade: Shade) -> list[float]:
        """What the cups of one shade must hold for `net` of all shades [m3], split evenly."""
        factor = self.over / (1 - self.loss.share.value)
        base = net * shade.share + (
            self.loss.per_coat.value * net / self.net * shade.share if self.net else 0.0
        )
        per_cup = self.loss.per_cup.value
        cap = self.caps[shade.name]
        if per_cup * factor >= cap:
            raise InputError(
                f"coat {self.coat}, loss per cup",
                f"{per_cup * 1e6:.4g} mL",
                say("it is below the largest cup of {cap:.4g}", cap=Amount(cap * 1000000.0, "mL")),
                "Use larger cups, or a smaller loss per cup.",
            )
        n = max(1, math.ceil(base * factor / (cap - per_cup * factor) * (1 - 1e-9)))
        if n > MOST_CUPS:
            raise InputError(
                f"coat {self.coat}, cups of {shade.name}",
                n,
                say(
                    "at most {most_cups} cups of one shade are planned for a batch",
                    most_cups=MOST_CUPS,
                ),
                "Allow larger cups, or pour fewer surfaces at once.",
            )
        return [(base / n + per_cup) * factor] * n

    def timing(self, net: float) -> tuple[float, float]:
        """Time to mix all field cups and to pour them for `net` of all shades [s]."""
        volumes = [v for s in self.field_shades for v in self.needs(net, s)]
        return self.mixing(volumes), math.fsum(volumes) / self.crew.pour_rate

    def clear(self, volumes: Sequence[float]) -> int:
        """How many buckets of clear mix feed cups of these volumes [m3]; 0 if mixed apart."""
        if not self.crew.clear_first or len(volumes) < 2:
            return 0
        cap = min(self.limits.largest_cup / self.ratio.density, self.limits.vessel)
        return max(1, math.ceil(math.fsum(volumes) / cap * (1 - 1e-9)))

    def mixing(self, volumes: Sequence[float]) -> float:
        """Time to mix cups of these volumes [s]."""
        mixers, buckets = self.crew.mixers, self.clear(volumes)
        if not buckets:
            return math.ceil(len(volumes) / mixers) * self.crew.mix_time
        tinting = math.ceil(len(volumes) / mixers) * self.crew.tint_time
        return math.ceil(buckets / mixers) * self.crew.mix_time + tinting

    def buckets(self, name: str, cups: Sequence[Cup]) -> tuple[Bucket, ...]:
        """The clear mix of a batch in even buckets; it makes up the A and B of its cups."""
        count = self.clear([c.volume for c in cups])
        if not count:
            return ()
        resin = math.fsum(c.portion.a_volume + c.portion.b_volume for c in cups)
        return tuple(
            make_bucket(f"{name} clear {k}", resin / count, self.ratio, self.measuring)
            for k in range(1, count + 1)
        )

    def fits(self, net: float, clock: bool = True) -> bool:
        """Whether one batch for `net` [m3] keeps the limits."""
        mix, pour = self.timing(net)
        spread = max(pour, net * self.area_per_net / self.crew.spread_rate)
        if clock and (mix + pour > self.limits.pour_within or spread > self.limits.spread_within):
            return False
        # Without a clock that holds, one cup of each shade is the batch.
        return clock or all(len(self.needs(net, s)) == 1 for s in self.field_shades)

    def most_net(self, clock: bool = True) -> float:
        """Largest net volume of one batch [m3] by halving; 0 when none fits.

        The spreading limit takes the coat's mean area per volume.
        """
        low, high = 1e-9, max(self.net, 1e-6) * 1.0001
        if not self.fits(low, clock):
            return 0.0
        if self.fits(high, clock):
            return high
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if self.fits(middle, clock) else (low, middle)
        return low

    def why_not(self) -> str:
        """Why no batch keeps the pour-out time, in one sentence [-]."""
        mix, _ = self.timing(1e-9)
        return say(
            "Mixing {shades} shades takes {mix:.0f} and the first cup must be out within "
            "{within:.0f}. Add someone to mix, mix clear first and share it out, cool the resin, "
            "or use fewer shades at once.",
            shades=len(self.field_shades),
            mix=Amount(mix / 60, "min"),
            within=Amount(self.limits.pour_within / 60, "min"),
        )

    def cups(self, batch: str, net: float, shades: Sequence[Shade]) -> list[Cup]:
        """The cups of one batch, without times; the fullest is mixed last, as it heats most."""
        letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
        wanted = [(needed, shade) for shade in shades for needed in self.needs(net, shade)]
        wanted.sort(key=lambda pair: pair[0])
        return [
            make_cup(
                f"{batch}{letters[n % 26] * (1 + n // 26)}",
                batch,
                shade,
                needed,
                self.ratio,
                self.measuring,
                self.limits.least_cup,
            )
            for n, (needed, shade) in enumerate(wanted)
        ]

    def _clocked(self, cups: list[Cup], start: float) -> tuple[list[Cup], float]:
        """Cups with their times, and when the last is mixed [s]."""
        end = start + self.mixing([c.volume for c in cups])
        within = self.limits.pour_within
        if self.clear([c.volume for c in cups]):
            return [replace(c, clear=True, mix_at=start, pour_by=start + within) for c in cups], end
        out = []
        for k, cup in enumerate(cups):
            at = start + (k // self.crew.mixers) * self.crew.mix_time
            out.append(replace(cup, mix_at=at, pour_by=at + within))
        return out, end

    def field(
        self, name: str, stretches: tuple[Stretch, ...], free: float, before: Batch | None
    ) -> Batch:
        """A field batch that starts when hands are free [s]."""
        cups = self.cups(name, math.fsum(s.net for s in stretches), self.field_shades)
        start = free
        if before is not None and self.crew.people > 1:
            start = max(before.ready, before.spread_end - self.mixing([c.volume for c in cups]))
        cups, ready = self._clocked(cups, start)
        pour_start = max(ready, before.spread_end if before else 0.0)
        pouring = math.fsum(c.volume for c in cups) / self.crew.pour_rate
        spreading = math.fsum(s.area for s in stretches) / self.crew.spread_rate
        pour_end = pour_start + pouring
        return Batch(
            name,
            "field",
            stretches,
            tuple(cups),
            start,
            pour_start,
            pour_end,
            pour_start + max(pouring, spreading),
            ready,
            self.buckets(name, cups),
        )

    def board(self, name: str, stretches: tuple[Stretch, ...], vein_wait: float) -> Batch:
        """A batch for a sample board: all shades, veins mixed so as to be laid in time."""
        made = self.field(name, stretches, 0.0, None)
        if not self.late_shades:
            return replace(made, kind="board")
        net = math.fsum(s.net for s in stretches)
        late = self.cups(f"{name}V", net, self.late_shades)
        mixing = self.mixing([c.volume for c in late])
        late, _ = self._clocked(late, max(made.pour_start + vein_wait - mixing, made.start))
        late = [replace(c, batch=name) for c in late]
        buckets = (*made.buckets, *self.buckets(f"{name}V", late))
        return replace(made, kind="board", cups=(*made.cups, *late), buckets=buckets)

    def veins(self, fields: Sequence[Batch], wait: float) -> list[Batch]:
        """Vein and accent cups: as few as stay fresh from their first stretch to their last."""
        if not self.late_shades:
            return []
        groups: list[list[Batch]] = []
        for b in fields:
            trial = [*(groups[-1] if groups else []), b]
            if groups and self._vein_fits(trial):
                groups[-1] = trial
            else:
                groups.append([b])
        return [self._vein(f"V{k}", g, wait) for k, g in enumerate(groups, 1)]

    def _vein_fits(self, group: Sequence[Batch]) -> bool:
        net = math.fsum(b.net for b in group)
        needs = [self.needs(net, s) for s in self.late_shades]
        if any(len(n) > 1 for n in needs):
            return False
        mixing = self.mixing([v for n in needs for v in n])
        lasting = group[-1].pour_end - group[0].pour_start
        pouring = math.fsum(v for n in needs for v in n) / self.crew.pour_rate
        return mixing + max(lasting, pouring) <= self.limits.pour_within

    def _vein(self, name: str, group: Sequence[Batch], wait: float) -> Batch:
        stretches = tuple(s for b in group for s in b.stretches)
        cups = self.cups(name, math.fsum(s.net for s in stretches), self.late_shades)
        mixing = self.mixing([c.volume for c in cups])
        lay = group[0].pour_start + wait
        start = max(lay - mixing, 0.0)
        cups, ready = self._clocked(cups, start)
        lay = max(lay, ready)
        pouring = math.fsum(c.volume for c in cups) / self.crew.pour_rate
        end = lay + max(pouring, group[-1].pour_end - group[0].pour_start)
        buckets = self.buckets(name, cups)
        return Batch(name, "vein", stretches, tuple(cups), start, lay, end, end, ready, buckets)
