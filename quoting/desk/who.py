"""Who is logged in, found with roles and second factor in one query of each request; nothing is kept beyond it."""

from django.contrib.auth import get_user_model
from django.contrib.auth.backends import ModelBackend
from django.db.models import F

from quoting.quotes import policies, second_factor


class People(ModelBackend):
    """Django's own check of name and password. Of whom a session names, all that the gate asks is read at once."""

    def get_user(self, user_id: object) -> object | None:
        asked = get_user_model().objects.filter(pk=user_id)
        # One row for each role and device, or one without any; an EXISTS would take as long as the rest of the query.
        found = list(asked.annotate(group=F("groups__name"), factor=F("totpdevice__confirmed")).order_by())
        if not found or not self.user_can_authenticate(found[0]):
            return None
        person = found[0]
        policies.roles_found(person, {one.group for one in found})
        second_factor.found(person, is_on=any(one.factor for one in found))
        return person
