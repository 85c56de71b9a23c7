"""Everybody's own page: password, second factor, and the question for its code at log-in."""

import io

import django_otp
import segno
from django.contrib import messages
from django.contrib.auth.views import PasswordChangeView
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse, reverse_lazy
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from quoting.desk import navigation, pages
from quoting.desk.forms_account import CodeForm
from quoting.quotes import policies, second_factor
from quoting.quotes.records import audit


@never_cache
@require_GET
def account(request: HttpRequest) -> HttpResponse:
    """Who I am here, and what I may set."""
    ties = request.user.plant_ties.select_related("plant")
    context = {
        "roles": sorted(policies.roles(request.user)),
        "plants": [tie.plant for tie in ties],
        "is_on": second_factor.is_on(request.user),
        "is_required": second_factor.is_required(request.user),
        "codes_left": second_factor.codes_left(request.user),
    }
    return render(request, "account/account.html", context)


class Password(PasswordChangeView):
    """A new password of one's own. Every other session of the person ends."""

    template_name = "account/password.html"
    success_url = reverse_lazy("account")

    @transaction.atomic
    def form_valid(self, form: object) -> HttpResponse:
        response = super().form_valid(form)
        audit("password_change", by=self.request.user)
        messages.success(self.request, "Your password is changed. Wherever else you were logged in, you are no longer.")
        return response

    def form_invalid(self, form: object) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form), status=422)


@never_cache
@require_http_methods(["GET", "POST"])
def ask(request: HttpRequest) -> HttpResponse:
    """Ask for the code, once a session."""
    onward = wanted_page(request)
    if request.user.is_verified() or not second_factor.is_on(request.user):
        return HttpResponseRedirect(onward)
    form = CodeForm(pages.posted(request))
    device = checked(form, lambda code: second_factor.code_check(by=request.user, code=code))
    if device is not None:
        django_otp.login(request, device)
        request.session.cycle_key()
        return HttpResponseRedirect(onward)
    context = {"form": form, "next": onward}
    return render(request, "account/ask.html", context, status=422 if form.errors else 200)


def wanted_page(request: HttpRequest) -> str:
    """Where the person was going, if that is a page of ours."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    ours = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure())
    return wanted if ours and wanted.startswith("/") else reverse("home")


def checked(form: CodeForm, check: object) -> object | None:
    """What the service gives for the code typed; None, with the reason beside the field, where it takes none."""
    if not (form.is_bound and form.is_valid()):
        return None
    try:
        return check(form.cleaned_data["code"])
    except ValidationError as refused:
        form.add_error("code", refused.messages)
    return None


@never_cache
@require_http_methods(["GET", "POST"])
def factor(request: HttpRequest) -> HttpResponse:
    """Whether the second factor is on, and how to switch it on; the POST begins."""
    if request.method == "POST":
        if not second_factor.is_on(request.user):
            second_factor.factor_begin(by=request.user)
        return redirect("second-factor")
    return factor_page(request, CodeForm())


def factor_page(request: HttpRequest, form: CodeForm, *, codes: list[str] | None = None) -> HttpResponse:
    waiting = second_factor.device_waiting(request.user)
    context = {
        "form": form,
        "is_on": second_factor.is_on(request.user),
        "is_required": second_factor.is_required(request.user),
        "codes_left": second_factor.codes_left(request.user),
        "key": in_fours(waiting) if waiting else "",
        "codes": codes or (),
        "start": navigation.start(request.user) or reverse("home"),
    }
    return render(request, "account/second_factor.html", context, status=422 if form.errors else 200)


def in_fours(device: object) -> str:
    """The secret as it is typed by hand, in groups of four."""
    key = device.config_url.partition("secret=")[2].partition("&")[0]
    return " ".join(key[place : place + 4] for place in range(0, len(key), 4))


@never_cache
@require_GET
def picture(request: HttpRequest) -> HttpResponse:
    """The secret as a QR code, while a telephone is waiting to be taken on."""
    waiting = second_factor.device_waiting(request.user)
    if waiting is None or second_factor.is_on(request.user):
        raise Http404
    drawn = io.BytesIO()
    segno.make(waiting.config_url, error="m").save(drawn, kind="svg", scale=5, border=3, light="#fff", svgclass=None)
    return HttpResponse(drawn.getvalue(), content_type="image/svg+xml")


@never_cache
@require_POST
def confirm(request: HttpRequest) -> HttpResponse:
    """Switch on with the first right code; the recovery codes are on the answer, and nowhere later."""
    form = CodeForm(request.POST)
    made = checked(form, lambda code: second_factor.factor_confirm(by=request.user, code=code))
    if made is None:
        return factor_page(request, form)
    device, codes = made
    django_otp.login(request, device)
    request.session.cycle_key()
    return factor_page(request, CodeForm(), codes=codes)


@never_cache
@require_POST
def remove(request: HttpRequest) -> HttpResponse:
    """Switch off with a right code."""
    form = CodeForm(request.POST)
    checked(form, lambda code: second_factor.factor_remove(by=request.user, code=code))
    if form.errors:
        return factor_page(request, form)
    messages.success(request, "The second factor is off. Your password alone opens the desk again.")
    return redirect("account")


@never_cache
@require_POST
def recovery_codes(request: HttpRequest) -> HttpResponse:
    """Ten new recovery codes; the old ones end."""
    if not second_factor.is_on(request.user):
        return redirect("second-factor")
    return factor_page(request, CodeForm(), codes=second_factor.recovery_codes_make(by=request.user))
