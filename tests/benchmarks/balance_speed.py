"""Balancing against a greedy assignment of the same problem: how much better, how long, how near to proven, by size.

An hour of overtime costs PREMIUM more than one of a shift. What each move saves is worked out in what is left of the
same time, as a plan in the app does it; "guess" counts the moves for which it did not reach.

python -m tests.benchmarks.balance_speed [seconds]
"""

import sys
from dataclasses import replace
from time import perf_counter

from machines.balance import balanced, greedy_plan
from machines.balance_plan import Plan
from machines.movable import Problem
from machines.moves import moves
from quoting.quotes.balancing_time import MOVES_SHARE
from tests.machines.shop_floor import some_problem

# jobs, machines, weeks, seed, share of hours booked, machines down for two weeks
GROWTH = ((25, 6, 12), (50, 10, 16), (100, 20, 26), (200, 30, 26), (400, 60, 26))
HARDER = ((200, 30, 26, 2, 0.80, 3), (200, 30, 26, 3, 0.85, 3), (200, 30, 26, 1, 0.80, 8), (200, 30, 26, 1, 0.90, 6))
PREMIUM = 30.0  # $ an hour: two people at some $30 and half of it on top; an assumption
HEAD = (f"{'jobs':>4} {'mach':>4} {'weeks':>5} {'seed':>4} {'full':>5} {'down':>4} | {'greedy: late':>12} {'$':>8} "
        f"{'over h':>7} {'s':>6} | {'model: late':>11} {'$':>8} {'over h':>7} | "
        f"{'gap late':>8} {'gap $':>6} {'gap h':>6} {'first s':>7} {'s':>6} | "
        f"{'moves':>5} {'guess':>5} {'in all s':>8}")  # fmt: skip


def figures(plan: Plan | None, late: int, rest: tuple[int, int]) -> str:
    if plan is None:
        return f"{'no plan':>{late}} {'':>{rest[0]}} {'':>{rest[1]}}"
    return f"{plan.weeks_late:>{late}} {plan.cost:>{rest[0]},.0f} {plan.overtime:>{rest[1]},.0f}"


def row(problem: Problem, shown: str, seconds: float) -> None:
    problem = replace(problem, premiums=(PREMIUM,) * len(problem.machines))
    begin = perf_counter()
    greedy = greedy_plan(problem)
    greedy_time = perf_counter() - begin
    first: list[float] = []

    def told(progress: object) -> bool:
        if progress.best is not None and not first:
            first.append(progress.seconds)
        return True

    begin = perf_counter()
    plan = balanced(problem, (1 - MOVES_SHARE) * seconds, 0.01, told)
    time = perf_counter() - begin
    found = moves(problem, plan, seconds - time) if plan else ()
    whole = perf_counter() - begin
    gaps = [f"{stage.gap:.1%}" for stage in plan.stages] if plan else []
    gaps += ["-"] * (3 - len(gaps))
    print(f"{shown} | {figures(greedy, 12, (8, 7))} {greedy_time:>6.2f} | {figures(plan, 11, (8, 7))} | "
          f"{gaps[0]:>8} {gaps[1]:>6} {gaps[2]:>6} {first[0] if first else float('nan'):>7.2f} {time:>6.1f} | "
          f"{len(found):>5} {sum(one.is_estimate for one in found):>5} {whole:>8.1f}",
          flush=True)  # fmt: skip


if __name__ == "__main__":
    limit = float(sys.argv[1]) if len(sys.argv) > 1 else 20.0
    balanced(some_problem(5, 2, 4))  # loads the solver
    print(f"at most {limit:g} s each; gap is what may still be won at most, over the value; first s: a first plan")
    print(HEAD)
    for jobs, machines, weeks in GROWTH:
        row(some_problem(jobs, machines, weeks), f"{jobs:>4} {machines:>4} {weeks:>5} {1:>4} {'80%':>5} {3:>4}", limit)
    print("harder ones of the same size")
    for jobs, machines, weeks, seed, fill, down in HARDER:
        problem = some_problem(jobs, machines, weeks, seed, fill, down)
        row(problem, f"{jobs:>4} {machines:>4} {weeks:>5} {seed:>4} {fill:>5.0%} {down:>4}", limit)
