"""The background task of balancing."""

from django_tasks import TaskContext, task

from quoting.quotes.balancing_work import work_off


@task(takes_context=True)
def balance(context: TaskContext, run: int) -> None:
    """Balance a plan; harmless to run twice, since one worker at a time claims it."""
    work_off(run, context.task_result.worker_ids[-1])
