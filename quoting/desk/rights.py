"""Which address is open to whom: one line for each route. What has no line is refused, by the gate and by a test.

A line names the policies of ``quotes.policies`` that the page rests on; who holds them is said there and nowhere else.
``a|b`` is one of the two, several names are all of them. The views ask the policies again, with the inquiry in hand.
"""

from dataclasses import dataclass

from quoting.intake.model_file import LARGEST_FILE
from quoting.intake.table_file import LARGEST_FILE as LARGEST_TABLE
from quoting.quotes import policies
from quoting.quotes.runs.reading import LIMITS as RUN_LIMITS
from quoting.quotes.stock import EDITS, LOOKS

ANYONE, LINK, TOKEN = "anyone", "private link", "token"
PERSON, ROLE, STAFF = "any person", "role", "staff"
STRANGERS = (ANYONE, LINK, TOKEN)  # no log-in is asked for; of the last two the view asks for a secret
READ, WRITE, BOTH = ("GET", "HEAD"), ("POST",), ("GET", "HEAD", "POST")
ROLES = (*policies.GROUPS, policies.ADMINISTRATOR)

FORM_BODY = 3 * 1024 * 1024  # the largest request [bytes]; forms are smaller still by DATA_UPLOAD_MAX_MEMORY_SIZE
MODEL_BODY = LARGEST_FILE + FORM_BODY
TABLE_BODY = LARGEST_TABLE + FORM_BODY
RUNS_BODY = RUN_LIMITS.file + FORM_BODY


@dataclass(frozen=True)
class Right:
    """Who may call a route, how, with how large a request [bytes], and which answer counts as a guess that missed."""

    who: str
    methods: tuple[str, ...] = READ
    needs: tuple[str, ...] = ()
    largest: int = FORM_BODY
    misses: tuple[tuple[str, ...], int] | None = None  # methods and status
    before_second_factor: bool = False

    def is_miss(self, method: str, status: int) -> bool:
        return self.misses is not None and method in self.misses[0] and status == self.misses[1]


def role(*needs: str, methods: tuple[str, ...] = READ, largest: int = FORM_BODY) -> Right:
    return Right(ROLE, methods, needs, largest)


def link(methods: tuple[str, ...] = READ) -> Right:
    return Right(LINK, methods, misses=(BOTH, 404))


ROUTES: dict[str, Right] = {
    # people
    "login": Right(ANYONE, BOTH, misses=(WRITE, 200)),
    "logout": Right(PERSON, WRITE, before_second_factor=True),
    "second-factor-ask": Right(PERSON, BOTH, before_second_factor=True),
    "account": Right(PERSON),
    "password": Right(PERSON, BOTH),
    "second-factor": Right(PERSON, BOTH),
    "second-factor-picture": Right(PERSON),
    "second-factor-confirm": Right(PERSON, WRITE),
    "second-factor-remove": Right(PERSON, WRITE),
    "recovery-codes": Right(PERSON, WRITE),
    "home": Right(PERSON),
    # inquiries
    "inquiries": role("see_inquiry"),
    "inquiry-log": role("log_inquiry", methods=BOTH, largest=MODEL_BODY),
    "inquiry": role("see_inquiry"),
    "inquiry-change": role("change|revise", methods=BOTH, largest=MODEL_BODY),
    "send": role("send", methods=WRITE),
    "revoke": role("revoke_link", methods=WRITE),
    "document": role("see_document"),
    "send-by-mail": role("send", methods=BOTH),
    "won": role("win", methods=BOTH),
    "lost": role("lose", methods=BOTH),
    "model-measure": role("measure_model", methods=WRITE),
    "model-file": role("see_inquiry"),
    "model-choose": role("change|override", methods=WRITE),
    "model-picture": role("see_inquiry"),
    "model-mesh": role("see_inquiry"),
    # review
    "review": role("see_cost"),
    "work": role("see_cost"),
    "candidate": role("see_candidates"),
    "candidates": role("see_candidates"),
    "changes": role("see_cost"),
    "history-export": role("read_audit", "see_inquiry"),
    "worksheet": role("see_cost"),
    "override-add": role("see_cost", "override", methods=WRITE),
    "override-withdraw": role("see_cost", "override", methods=WRITE),
    "answer-again": role("see_cost", "answer", methods=WRITE),
    "approve": role("see_cost", "approve", methods=BOTH),
    "decline": role("see_cost", "decline", methods=BOTH),
    "second": role("see_cost", "second", methods=BOTH),
    "waiting": role("second"),
    "audit-period": role("export_audit"),
    # rates
    "rates": role("see_rates"),
    "rates-history": role("see_rates"),
    "rates-export": role("see_rates"),
    "rates-import": role("edit_rates", methods=BOTH, largest=TABLE_BODY),
    "rates-preview": role("edit_rates", methods=BOTH),
    "rates-put-aside": role("edit_rates", methods=WRITE),
    "rates-imports": role("see_rates"),
    "rates-imported": role("see_rates"),
    "repricing": role("see_repricing"),
    "repricing-start": role("reprice", methods=BOTH),
    "repricing-run": role("see_repricing"),
    "repricing-cancel": role("reprice", methods=WRITE),
    "repricing-resume": role("reprice", methods=WRITE),
    "repricing-csv": role("see_repricing"),
    # loading
    "loading": role("see_loading"),
    "loading-week": role("see_loading"),
    # recorded runs
    "shop-runs": role("see_runs"),
    "shop-run": role("see_runs"),
    "shop-run-new": role("record_runs", methods=BOTH),
    "shop-run-correct": role("record_runs", methods=BOTH),
    "shop-run-withdraw": role("record_runs", methods=WRITE),
    "shop-runs-import": role("record_runs", methods=BOTH, largest=RUNS_BODY),
    "shop-runs-preview": role("record_runs", methods=BOTH),
    "shop-runs-put-aside": role("record_runs", methods=WRITE),
    "shop-runs-template": role("record_runs"),
    "shop-runs-accuracy": role("see_runs"),
    "shop-runs-accuracy-csv": role("see_runs"),
    "shop-runs-factors": role("see_runs"),
    "shop-factors-propose": role("decide_factors", methods=WRITE),
    "shop-factors-accept": role("decide_factors", methods=WRITE),
    "shop-factors-refuse": role("decide_factors", methods=WRITE),
    # what-if and balancing
    "plans": role("see_loading"),
    "plan-ask": role("move_work", methods=BOTH),
    "plan": role("see_loading"),
    "plan-cancel": role("move_work", methods=WRITE),
    "plan-again": role("move_work", methods=WRITE),
    "plan-down": role("move_work", methods=WRITE),
    "move-accept": role("move_work", methods=WRITE),
    "move-refuse": role("move_work", methods=WRITE),
    "loading-export": role("see_loading"),
    "loading-meeting": role("see_loading"),
    "loading-chances": role("see_loading"),
    "loading-plants": role("see_loading"),
    "loading-plant": role("see_loading"),
    # the customer
    "customer-link": link(),
    "customer-quote": link(),
    "customer-pdf": link(),
    "customer-accept": link(BOTH),
    "customer-change": link(BOTH),
    "customer-decline": link(BOTH),
    # machines that look after the service
    "health": Right(ANYONE),
    "ready": Right(ANYONE),
    "metrics": Right(TOKEN, misses=(READ, 404)),
}

# Tables with pages of their own in the admin. Which group edits which stands in ``stock.EDITS``.
ADMIN_TABLES = (
    "quotes_raterow", "quotes_auditentry", "quotes_quote", "machines_plant", "machines_machine", "machines_booking",
    "machines_timewindow", "materials_polymer", "materials_sheetoffer", "quotes_outgoingmail", "auth_user",
    "axes_accessattempt",    "django_tasks_database_dbtaskresult",
)  # fmt: skip
_ADMIN_PAGES = ("index", "login", "logout", "password_change", "password_change_done", "app_list", "jsi18n")
_ADMIN_HELPERS = ("autocomplete", "view_on_site", "")
STAFF_ROLES = (*EDITS, policies.ADMINISTRATOR)
# Tables where less can be done than the rights of a role would say. People are switched off, never deleted.
_ONLY = {
    "quotes_auditentry": ("view",), "quotes_quote": ("view",), "quotes_outgoingmail": ("view",),
    "django_tasks_database_dbtaskresult": ("view",),
    "auth_user": ("view", "add", "change"), "axes_accessattempt": ("view", "delete"),
}  # fmt: skip
_VERBS = {
    "_changelist": "view", "_history": "view", "_add": "add", "_delete": "delete", "_change": "change",
    "_password_change": "change",
}  # fmt: skip


def of(name: str) -> Right | None:
    """The line of a route by its name, such as ``inquiry`` or ``admin:index``; None where there is none."""
    if not name.startswith("admin:"):
        return ROUTES.get(name)
    page = name.removeprefix("admin:")
    known = page in _ADMIN_PAGES or page in _ADMIN_HELPERS or table_and_verb(page) or "." in page
    return Right(STAFF, BOTH) if known else None


def table_and_verb(page: str) -> tuple[str, str] | None:
    """The table and the deed of a page of the admin.

    >>> table_and_verb("quotes_raterow_add")
    ('quotes_raterow', 'add')
    """
    found = [(table, verb) for table in ADMIN_TABLES for end, verb in _VERBS.items() if page == f"{table}{end}"]
    return found[0] if found else None


def grant(right: Right, held: str) -> str | None:
    """What a route grants to a role: OWN, ALL, or nothing."""
    if right.who != ROLE:
        return policies.ALL if right.who == PERSON or (right.who == STAFF and held in STAFF_ROLES) else None
    grants = [best_grant(need, held) for need in right.needs]
    if None in grants:
        return None
    return policies.OWN if policies.OWN in grants else policies.ALL


def best_grant(need: str, held: str) -> str | None:
    """The widest grant that one of ``a|b`` gives a role."""
    grants = {policies.grants_of(name).get(held) for name in need.split("|")}
    return next((one for one in (policies.ALL, policies.OWN) if one in grants), None)


def edits(held: str, table: str, verb: str) -> bool:
    """Whether a role may do this in a table of the admin."""
    model = table.partition("_")[2]
    if verb not in _ONLY.get(table, (verb,)):
        return False
    if held == policies.ADMINISTRATOR:
        return True
    looks = {one for tables in EDITS.values() for one in tables} | set(LOOKS)
    return model in EDITS.get(held, ()) or (verb == "view" and held in EDITS and model in looks)


def admitted(person: object, right: Right) -> bool:
    """Whether one of a person's roles opens the route at all; whose inquiry it is, the view asks."""
    if right.who in STRANGERS:
        return True
    if right.who == PERSON:
        return bool(getattr(person, "is_active", False))
    if right.who == STAFF and not getattr(person, "is_staff", False):
        return False
    return any(grant(right, held) for held in policies.roles(person))
