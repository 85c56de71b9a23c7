"""Who is logged in, found with roles and second factor in one query of each request; nothing is kept beyond it."""

from django.contrib.auth import get_user_model
from django.contrib.auth.backends import ModelBackend
from django.db.models import Exists, F, OuterRef
from django_otp.plugins.otp_totp.models import TOTPDevice

from quoting.quotes import policies, second_factor


class People(ModelBackend):
    """Django's own check of name and password. Of whom a session names, all that the gate asks is read at once."""

    def get_user(self, user_id: object) -> object | None:
        devices = TOTPDevice.objects.filter(user=OuterRef("pk"), confirmed=True)
        rows = get_user_model().objects.filter(pk=user_id).annotate(group=F("groups__name"), factor=Exists(devices))
        found = list(rows.order_by())  # one for each role, or one without any
        if not found or not self.user_can_authenticate(found[0]):
            return None
        person = found[0]
        policies.roles_found(person, {one.group for one in found})
        second_factor.found(person, is_on=person.factor)
        return person
