"""Whole plans by filling strips one after the other: quick, and often as good as can be."""

from __future__ import annotations

import math
from bisect import bisect_left, insort
from collections.abc import Iterator, Sequence

from strapwork.workshop.knapsack import Knapsack
from strapwork.workshop.master import NO_LIMIT, Bin, Pattern, Task

Plan = dict[Pattern, int]
POWERS = (1.06, 1.0, 1.02, 1.15, 1.4, 2.0)  # the first is most often the best
SAMPLE = 120  # different lengths looked at for a strip, where there are more
MANY = 3_000_000  # numbers in a knapsack's tables, from which on one of them has to do


def cost_of(plan: Plan, bins: Sequence[Bin]) -> int:
    """What the strips of a plan cost."""
    return sum(bins[p.bin].cost * n for p, n in plan.items())


def plans(sizes: Sequence[int], task: Task, bins: Sequence[Bin], sack: Knapsack) -> Iterator[Plan]:
    """Plans that cover ``task``: strips as full as can be, the long pieces counted for ever more; longest first."""
    for power in POWERS[: 1 if len(sizes) * sack.capacity > MANY else None]:
        plan = fullest(task, bins, sack, [float(s) ** power for s in sizes])
        if plan is not None:
            yield plan
    for b, each in enumerate(bins):
        if each.limit >= NO_LIMIT:
            plan = longest_first(sizes, task, b, each.capacity)
            if plan is not None and (task.budget is None or each.charge * sum(plan.values()) <= task.budget):
                yield plan


def fullest(task: Task, bins: Sequence[Bin], sack: Knapsack, worth: Sequence[float]) -> Plan | None:
    """Strip after strip, each filled with what is worth most for its cost; None where something finds no place."""
    plan: Plan = {}
    wanted = sorted((i for i, n in enumerate(task.wanted) if n), key=lambda i: -worth[i])
    while wanted:
        table = sack.fill(worth, task.wanted, only=_sample(wanted))
        choice: tuple[float, int] | None = None
        for b, each in enumerate(bins):
            value = float(table[each.capacity])
            if value <= 0 or task.high[b] < 1 or (task.budget is not None and each.charge > task.budget):
                continue
            # Strips that cost nothing come first, the longest of them before the others.
            rate = value / each.cost if each.cost else 1e12 + value
            if choice is None or rate > choice[0] * (1 + 1e-12):
                choice = (rate, b)
        if choice is None:
            return None
        b = choice[1]
        filling = sack.filling(bins[b].capacity)
        times = min(task.high[b], *(task.wanted[i] // n for i, n in filling))
        if task.budget is not None and bins[b].charge:
            times = min(times, task.budget // bins[b].charge)
        key = Pattern(b, filling)
        plan[key] = plan.get(key, 0) + times
        task = task.less(key, times, bins[b].charge)
        gone = {i for i, _ in filling if not task.wanted[i]}
        wanted = [i for i in wanted if i not in gone]
    return plan


def _sample(wanted: Sequence[int]) -> Sequence[int]:
    """The first pieces and a spread of the others, where there are too many to look at all of them."""
    if len(wanted) <= SAMPLE:
        return wanted
    first, rest = wanted[: SAMPLE // 4], wanted[SAMPLE // 4 :]
    step = len(rest) / (SAMPLE - len(first))
    return [*first, *(rest[int(k * step)] for k in range(SAMPLE - len(first)))]


def longest_first(sizes: Sequence[int], task: Task, b: int, capacity: int) -> Plan | None:
    """The longest piece first, each into the fullest strip that still has room for it; strips of stock ``b`` alone."""
    room: list[tuple[int, int]] = []  # what is left of each strip, and its place in held; rising
    held: list[dict[int, int]] = []
    for i in sorted(range(len(sizes)), key=lambda i: -sizes[i]):
        if task.wanted[i] and sizes[i] > capacity:
            return None
        for _ in range(task.wanted[i]):
            at = bisect_left(room, (sizes[i], 0))
            if at < len(room):
                left, k = room.pop(at)
            else:
                left, k = capacity, len(held)
                held.append({})
            insort(room, (left - sizes[i], k))
            held[k][i] = held[k].get(i, 0) + 1
    plan: Plan = {}
    for h in held:
        key = Pattern(b, tuple(sorted(h.items())))
        plan[key] = plan.get(key, 0) + 1
    return plan


def trimmed(plan: Plan, wanted: Sequence[int]) -> Plan:
    """The plan without the pieces that it would cut to spare."""
    spare = [-n for n in wanted]
    for p, n in plan.items():
        for i, m in p.filling:
            spare[i] += n * m
    out: Plan = {}
    for p, n in plan.items():
        for _ in range(n):
            kept = []
            for i, m in p.filling:
                drop = min(m, spare[i])
                spare[i] -= drop
                if m > drop:
                    kept.append((i, m - drop))
            if kept:
                key = Pattern(p.bin, tuple(kept))
                out[key] = out.get(key, 0) + 1
    return out


def largest_choices(
    values: Sequence[float],
    patterns: Sequence[Pattern],
    sizes: Sequence[int],
    task: Task,
    bins: Sequence[Bin],
    hurry: bool = False,
) -> list[tuple[Pattern, int]]:
    """The largest choices of a linear program, in whole strips; nothing where there is none.

    Whole strips of it are all taken, and of parts of strips the largest: one,
    an eighth of the strips in large plans, or as many as there are in a ``hurry``.  A piece that is not wanted any
    more gives its room to the longest ones that are wanted and go in.
    """
    parts = len(values) if hurry else max(1, int(sum(values) // 8))
    out: list[tuple[Pattern, int]] = []
    for value, k in sorted(((v, -k) for k, v in enumerate(values) if v > 1e-6), reverse=True):
        whole = math.floor(value + 1e-6)
        if not whole and (parts == 0 or (out and value < 0.3)):
            break
        p, left = patterns[-k], max(1, whole)
        while left > 0:
            chosen = _useful(p, left, sizes, task, bins)
            if chosen is None:
                break
            out.append(chosen)
            task = task.less(*chosen, bins[p.bin].charge)
            left -= chosen[1]
        parts -= 0 if whole else 1
    return out


def _useful(
    p: Pattern, times: int, sizes: Sequence[int], task: Task, bins: Sequence[Bin]
) -> tuple[Pattern, int] | None:
    """``p`` up to ``times`` times, with what is still wanted; None where nothing is."""
    times = min(times, task.high[p.bin])
    if task.budget is not None and bins[p.bin].charge:
        times = min(times, task.budget // bins[p.bin].charge)
    if times < 1:
        return None
    kept = {i: min(m, task.wanted[i]) for i, m in p.filling if task.wanted[i]}
    room = bins[p.bin].capacity - sum(sizes[i] * m for i, m in kept.items())
    free = sorted((i for i, n in enumerate(task.wanted) if n > kept.get(i, 0)), key=lambda i: -sizes[i])
    if free and room >= sizes[free[-1]]:
        # A piece no longer wanted makes way for the longest that goes in its place; then the rest is filled up.
        gone = [sizes[i] for i, m in p.filling for _ in range(m - kept.get(i, 0))]
        for most in (*sorted(gone, reverse=True), *(room,) * (room // sizes[free[-1]])):
            fits = (i for i in free if sizes[i] <= min(most, room) and task.wanted[i] > kept.get(i, 0))
            new = next(fits, None)
            if new is not None:
                kept[new] = kept.get(new, 0) + 1
                room -= sizes[new]
    if not kept:
        return None
    return Pattern(p.bin, tuple(sorted(kept.items()))), min(times, *(task.wanted[i] // m for i, m in kept.items()))
