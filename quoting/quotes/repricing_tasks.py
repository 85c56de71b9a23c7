"""The background task of re-pricing; several of one run share its parts."""

from django_tasks import TaskContext, task

from quoting.quotes.repricing_work import work_off


@task(takes_context=True)
def reprice(context: TaskContext, run: int) -> int:
    """Work at a run until nothing of it waits; harmless to run twice, since each part is closed once."""
    return work_off(run, context.task_result.worker_ids[-1])
