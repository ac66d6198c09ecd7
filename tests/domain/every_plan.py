"""The best plan of a small problem by trying everything, one minute of work after another; it shares no code with the planner.

A shortest path over (day, minutes left, what the stone is dressed for, pairs it still serves, layers dressed for today, pairs
done): dress the stone and cut a pair, cut another pair, or go home. Nobody dresses for a layer that was left on the same
day, nobody dresses without a pair to cut, and nobody begins a pair that is not finished within the days of the list: that is
how the workshop works, not how the planner does. Costs are compared
in the planner's order: weighted pair-days late, the same against the day on which orders are to be ready with a buffer, then
dressing minutes with what moving work costs.
"""

from __future__ import annotations

import heapq
import itertools

from portal.domain.planning.problem import AFTER_THE_END, Order, Problem

Done = tuple[tuple[int, ...], ...]
# (lot, step, day) of a plan before: pairs.
Stood = dict[tuple[int, int, int], int]
# Minutes left of a day that has to hold its work alone, and its pairs by layer; nothing where days need not.
Alone = tuple[int, tuple[str, ...]]
State = tuple[int, int, str, int, frozenset[str], tuple[tuple[int, int], ...], Alone, Done]


# So many times a pair-day into the buffer is a pair-day late while searching.
MUCH = 1_000_000


def days_late(problem: Problem, order: Order, end: int) -> tuple[int, int]:
    """Of an order finished on the day with this number: after it is due, and after it should be ready."""
    due = sum(one.day <= order.due for one in problem.days) - 1
    arrives = sum(one.day < order.arrives for one in problem.days)
    # Nothing is ready before it arrives.
    ready = min(due, max(due - problem.buffer_days, arrives))
    return max(0, end - due), max(0, end - ready)


def best(problem: Problem) -> tuple[int, int, float]:
    """Weighted pair-days late, the same against the buffer, and dressing minutes plus ``move_minutes`` for each pair and layer
    of the plan before that stands on another day, of the best plan for one grinder."""
    (grinder,) = problem.grinders
    layers = {layer.name: layer for layer in problem.layers}
    lots = [(order, lot) for order in problem.orders for lot in order.lots]
    days = problem.days
    on = (grinder.dressed.layer, grinder.dressed.left) if grinder.dressed else ("", 0)
    nothing: Done = tuple((0,) * len(lot.layers) for _order, lot in lots)
    start: State = (0, days[0].minutes, *on, frozenset(), (), (days[0].minutes, ()), nothing)
    tie = itertools.count()
    queue: list[tuple[int, float, int, State | None]] = [(0, 0, next(tie), start)]
    seen: dict[State, tuple[int, float]] = {start: (0, 0)}
    stood: Stood = {}
    for one in problem.before:
        at = [lot.name for _order, lot in lots].index(one.lot)
        key = (at, lots[at][1].layers.index(one.layer), [each.day for each in days].index(one.day))
        stood[key] = stood.get(key, 0) + one.pairs
    many = {(at, step) for at, step, _day in stood}
    # Every pair that does not stay is charged while searching; those that stood nowhere are taken off in the end.
    stood_nowhere = sum(lots[at][1].pairs for at, _step in many) - sum(stood.values())

    def late_if(order_at: int, day: int) -> int:
        order = problem.orders[order_at]
        late, past = days_late(problem, order, day)
        return order.weight * order.pairs * (MUCH * late + past)

    def alone_with(alone: Alone, name: str, run: int) -> Alone:
        """The day with one more pair of a layer, if no stone had been dressed in the evening before."""
        if not problem.whole_days:
            return alone
        left, pairs = alone
        layer, many = layers[name], pairs.count(name)
        dressings = -(-(many + 1) // layer.life_pairs) + -many // layer.life_pairs
        return left - run - dressings * layer.dress_minutes, tuple(sorted((*pairs, name)))

    def push(late: int, minutes: float, state: State) -> None:
        if state not in seen or (late, minutes) < seen[state]:
            seen[state] = (late, minutes)
            heapq.heappush(queue, (late, minutes, next(tie), state))

    def is_done(order_at: int, done: Done) -> bool:
        order = problem.orders[order_at]
        return all(
            done[at][-1] == lot.pairs for at, (whose, lot) in enumerate(lots) if whose.name == order.name
        )

    while queue:
        late, minutes, _tie, state = heapq.heappop(queue)
        if state is None:
            return *divmod(late, MUCH), minutes - stood_nowhere * problem.move_minutes
        if seen[state] < (late, minutes):
            continue
        day, left_minutes, on_stone, serves, today, stayed, alone, done = state
        if day + 1 < len(days):
            has = days[day + 1].minutes
            push(late, minutes, (day + 1, has, on_stone, serves, frozenset(), (), (has, ()), done))
        elif all(len(set(steps)) == 1 for steps in done):
            end = late + sum(
                late_if(at, len(days) - 1 + AFTER_THE_END)
                for at in range(len(problem.orders))
                if not is_done(at, done)
            )
            undone = sum(lots[at][1].pairs - done[at][step] for at, step in many)
            heapq.heappush(queue, (end, minutes + undone * problem.move_minutes, next(tie), None))
        for at, (order, lot) in enumerate(lots):
            if order.arrives > days[day].day:
                continue
            for step, name in enumerate(lot.layers):
                if done[at][step] >= (lot.pairs if step == 0 else done[at][step - 1]):
                    continue
                mine = (*done[at][:step], done[at][step] + 1, *done[at][step + 1 :])
                after = (*done[:at], mine, *done[at + 1 :])
                order_at = problem.orders.index(order)
                more = late_if(order_at, day) if is_done(order_at, after) else 0
                run = lot.minutes[step] if lot.minutes else layers[name].run_minutes
                dress, life = layers[name].dress_minutes, layers[name].life_pairs
                held = alone_with(alone, name, run)
                if held[0] < 0:
                    continue
                stays, charge = stayed, 0.0
                if (at, step) in many:
                    if stayed.count((at, step)) < stood.get((at, step, day), 0):
                        stays = tuple(sorted((*stayed, (at, step))))
                    else:
                        charge = problem.move_minutes
                spent = minutes + charge
                if name == on_stone and serves and run <= left_minutes:
                    left = left_minutes - run
                    push(late + more, spent, (day, left, name, serves - 1, today, stays, held, after))
                if (name not in today or name == on_stone) and dress + run <= left_minutes:
                    left = left_minutes - dress - run
                    push(
                        late + more,
                        spent + dress,
                        (day, left, name, life - 1, today | {name}, stays, held, after),
                    )
    raise AssertionError("going home every day is always possible")
