"""The optimum of a plan by a constraint solver (OR-Tools CP-SAT): only the bench and its test use it."""

from __future__ import annotations

from collections.abc import Sequence

from stillroom.plugins.prep.board import House, Task


def shortest(tasks: Sequence[Task], house: House, seconds: float) -> tuple[int, int]:
    """(best end of the last task found, proven bound) [slots]; equal where proven."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    start = {t.id: model.new_int_var(t.ready, house.slots - t.slots, t.id) for t in tasks}
    end = model.new_int_var(0, house.slots, "end")
    hands: dict[str, list[object]] = {p: [] for p in house.people}
    for task in tasks:
        model.add(end >= start[task.id] + task.slots)
        for before in task.after:
            may_run = dict(task.into).get(before, 0)
            model.add(start[task.id] + may_run >= start[before] + next(t.slots for t in tasks if t.id == before))
        who = [(p, model.new_bool_var(f"{task.id}{p}")) for p in task.people] if task.active else []
        if who:
            model.add_exactly_one(b for _, b in who)
        for person, does in who:
            hands[person].append(
                model.new_optional_fixed_size_interval_var(start[task.id], task.active, does, f"{task.id}{person}i")
            )
    for person, bits in house.people.items():
        away = _gaps(bits, house.slots)
        gone = [model.new_fixed_size_interval_var(a, b - a, f"{person}{a}") for a, b in away]
        model.add_no_overlap([*hands[person], *gone])
    for equipment, capacity in house.equipment.items():
        uses = [(t, u) for t in tasks for u in t.uses if u.equipment == equipment]
        spans = [
            model.new_fixed_size_interval_var(start[t.id] + u.begin, u.slots, f"{t.id}{equipment}") for t, u in uses
        ]
        model.add_cumulative(spans, [u.amount for _, u in uses], capacity)
    model.minimize(end)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds, solver.parameters.num_workers = seconds, 2
    solver.solve(model)
    return round(solver.objective_value), round(solver.best_objective_bound)


def _gaps(bits: int, slots: int) -> list[tuple[int, int]]:
    """Stretches in which somebody is not here."""
    found, begin = [], None
    for slot in range(slots + 1):
        is_away = slot < slots and not bits >> slot & 1
        if is_away and begin is None:
            begin = slot
        if not is_away and begin is not None:
            found.append((begin, slot))
            begin = None
    return found
