"""Steps that wait for one another: when each begins and ends, how much it could slip, and which ones set the end."""

from dataclasses import dataclass

ROUNDING = 1e-9  # of the time unit


class ChainError(ValueError):
    """Steps that cannot be put in order: names the step and what is wrong with it."""


@dataclass(frozen=True)
class Task:
    """Something that takes time once all of ``after`` are done. The unit of time is the caller's."""

    name: str
    duration: float
    after: tuple[str, ...] = ()


@dataclass(frozen=True)
class Step:
    """A task in its place. ``slack`` is how much later it could end without moving the end of all."""

    name: str
    start: float
    finish: float
    slack: float

    @property
    def critical(self) -> bool:
        return self.slack <= ROUNDING


def stepped(tasks: tuple[Task, ...]) -> tuple[Step, ...]:
    """Each task as early as it can begin, in the order given.

    ``start = max(finish of what it waits for)``; backwards, ``latest finish = min(latest start of what waits for it)``.

    Parameters
    ----------
    tasks : tuple of Task
        Each names only tasks before it [time].

    Returns
    -------
    steps : tuple of Step
        [time]

    Raises
    ------
    ChainError
        A duration is negative, a name stands twice, or a task waits for one that does not stand before it.

    Examples
    --------
    >>> tasks = Task("tool", 9), Task("sheet", 3), Task("form", 2, ("tool", "sheet"))
    >>> [(one.name, one.start, one.slack) for one in stepped(tasks)]
    [('tool', 0.0, 0.0), ('sheet', 0.0, 6.0), ('form', 9.0, 0.0)]
    """
    finish: dict[str, float] = {}
    for task in tasks:
        if not task.duration >= 0:
            raise ChainError(f"{task.name}: duration: got {task.duration}; accepted is 0 or more")
        if task.name in finish:
            raise ChainError(f"{task.name} stands twice")
        missing = [name for name in task.after if name not in finish]
        if missing:
            raise ChainError(f"{task.name} waits for {', '.join(missing)}, which does not stand before it")
        finish[task.name] = max((finish[name] for name in task.after), default=0.0) + task.duration
    end = max(finish.values(), default=0.0)
    latest = dict.fromkeys(finish, end)
    for task in reversed(tasks):
        for name in task.after:
            latest[name] = min(latest[name], latest[task.name] - task.duration)
    return tuple(
        Step(one.name, finish[one.name] - one.duration, finish[one.name], latest[one.name] - finish[one.name])
        for one in tasks
    )
