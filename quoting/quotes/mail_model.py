"""The outbox: every e-mail the app has to send, in the same database as the deed that asked for it."""

from datetime import timedelta

from django.db import models
from django.db.models import Q
from django.utils import timezone

WAITING, SENDING, SENT, UNKNOWN, FAILED, DROPPED = "waiting", "sending", "sent", "unknown", "failed", "dropped"
MAIL_STATES = (WAITING, SENDING, SENT, UNKNOWN, FAILED, DROPPED)

DONE = (SENT, DROPPED)
LOST_AFTER = timedelta(minutes=10)  # far beyond the time limit of the line; then the process is taken for dead


class OutgoingMail(models.Model):
    """One e-mail to one address; ``key`` says what it is about, so that the same thing is never written twice.

    ``token`` is that of the process that took it to send. ``text`` is taken away once the mail is sent or given up,
    since it may hold the secret of a private link. ``unknown``: the process died, or the line broke, between handing
    over and the receiver's answer; such a mail may have arrived, so a person decides, never the app.
    """

    key = models.CharField(max_length=120, unique=True)
    to = models.EmailField()
    subject = models.CharField(max_length=200)
    text = models.TextField(blank=True)
    inquiry = models.ForeignKey("quotes.Inquiry", on_delete=models.PROTECT, related_name="mails")
    quote = models.ForeignKey("quotes.Quote", on_delete=models.PROTECT, null=True, blank=True, related_name="mails")
    state = models.CharField(max_length=10, choices=[(name, name) for name in MAIL_STATES], default=WAITING)
    tries = models.PositiveSmallIntegerField(default=0)
    reason = models.CharField(max_length=400, blank=True)
    token = models.CharField(max_length=32, blank=True)
    written_at = models.DateTimeField()
    next_try = models.DateTimeField()
    taken_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = "e-mail"
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(condition=Q(state__in=MAIL_STATES), name="mail_state_known"),
            models.CheckConstraint(
                condition=~Q(state__in=(SENT, DROPPED)) | Q(text=""), name="mail_text_gone_once_done"
            ),
        ]
        indexes = [models.Index(fields=["state", "next_try"], name="mail_due")]

    @property
    def standing(self) -> str:
        """The state; a mail that has been on its way for too long is unknown, though nobody has written so yet."""
        is_lost = self.state == SENDING and self.taken_at is not None and self.taken_at < timezone.now() - LOST_AFTER
        return UNKNOWN if is_lost else self.state

    def __str__(self) -> str:
        return f"{self.subject} ({self.state})"
