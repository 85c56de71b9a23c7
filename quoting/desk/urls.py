"""Addresses of the screens, by role."""

from datetime import date

from django.urls import path, register_converter

from quoting.desk import (
    views_account,
    views_audit,
    views_balance,
    views_board,
    views_commitment,
    views_customer,
    views_deeds,
    views_estimator,
    views_factors,
    views_model,
    views_plants,
    views_rates,
    views_rates_import,
    views_rep,
    views_repricing,
    views_runs,
    views_runs_import,
    views_turning,
)


class Day:
    """A date in an address, as 2026-11-23, of a century in which calendars can reckon."""

    regex = r"20\d{2}-\d{2}-\d{2}"

    def to_python(self, text: str) -> date:
        return date.fromisoformat(text)

    def to_url(self, value: date) -> str:
        return value.isoformat()


register_converter(Day, "day")

urlpatterns = [
    path("", views_rep.home, name="home"),
    path("second-factor/", views_account.ask, name="second-factor-ask"),
    path("account/", views_account.account, name="account"),
    path("account/password/", views_account.Password.as_view(), name="password"),
    path("account/second-factor/", views_account.factor, name="second-factor"),
    path("account/second-factor/code.svg", views_account.picture, name="second-factor-picture"),
    path("account/second-factor/confirm/", views_account.confirm, name="second-factor-confirm"),
    path("account/second-factor/remove/", views_account.remove, name="second-factor-remove"),
    path("account/second-factor/recovery/", views_account.recovery_codes, name="recovery-codes"),
    path("inquiries/", views_rep.inquiries, name="inquiries"),
    path("inquiries/new/", views_rep.inquiry_log, name="inquiry-log"),
    path("inquiries/<slug:number>/", views_rep.inquiry, name="inquiry"),
    path("inquiries/<slug:number>/change/", views_rep.inquiry_change, name="inquiry-change"),
    path("inquiries/<slug:number>/send/", views_deeds.send, name="send"),
    path("inquiries/<slug:number>/send/by-mail/", views_deeds.send_by_mail, name="send-by-mail"),
    path("inquiries/<slug:number>/withdraw-link/", views_deeds.revoke, name="revoke"),
    path("inquiries/<slug:number>/document.pdf", views_deeds.document, name="document"),
    path("inquiries/<slug:number>/won/", views_deeds.won, name="won"),
    path("inquiries/<slug:number>/lost/", views_deeds.lost, name="lost"),
    path("inquiries/<slug:number>/model/", views_model.measure, name="model-measure"),
    path("inquiries/<slug:number>/model/file/", views_model.model_file, name="model-file"),
    path("inquiries/<slug:number>/model/choose/", views_model.choose, name="model-choose"),
    path("inquiries/<slug:number>/model/<slug:name>.png", views_model.picture, name="model-picture"),
    path("inquiries/<slug:number>/model/<slug:name>.glb", views_turning.mesh, name="model-mesh"),
    path("review/", views_estimator.review, name="review"),
    path("review/<slug:number>/", views_estimator.work, name="work"),
    path("review/<slug:number>/candidates/", views_estimator.candidates, name="candidates"),
    path("review/<slug:number>/candidate/<int:place>/", views_estimator.candidate, name="candidate"),
    path("review/<slug:number>/worksheet.pdf", views_estimator.worksheet, name="worksheet"),
    path("review/<slug:number>/override/", views_estimator.override_add, name="override-add"),
    path(
        "review/<slug:number>/override/<int:override>/withdraw/",
        views_estimator.override_withdraw,
        name="override-withdraw",
    ),
    path("review/<slug:number>/answer/", views_estimator.answer_again, name="answer-again"),
    path("review/<slug:number>/approve/", views_commitment.approve, name="approve"),
    path("review/<slug:number>/second/", views_commitment.second, name="second"),
    path("review/<slug:number>/changes/", views_commitment.changes, name="changes"),
    path("review/<slug:number>/history.<slug:kind>", views_audit.history_export, name="history-export"),
    path("audit/", views_audit.audit_period, name="audit-period"),
    path("plans/", views_balance.plans, name="plans"),
    path("plans/new/", views_balance.ask, name="plan-ask"),
    path("plans/<int:plan>/", views_balance.plan, name="plan"),
    path("plans/<int:plan>/cancel/", views_balance.cancel, name="plan-cancel"),
    path("plans/<int:plan>/again/", views_balance.again, name="plan-again"),
    path("plans/<int:plan>/down/", views_balance.down, name="plan-down"),
    path("plans/<int:plan>/moves/<int:move>/accept/", views_balance.accept, name="move-accept"),
    path("plans/<int:plan>/moves/<int:move>/refuse/", views_balance.refuse, name="move-refuse"),
    path("waiting/", views_commitment.waiting, name="waiting"),
    path("review/<slug:number>/decline/", views_estimator.decline, name="decline"),
    path("loading/", views_board.loading, name="loading"),
    path("loading/board.<slug:form>", views_board.export, name="loading-export"),
    path("loading/meeting/", views_plants.meeting, name="loading-meeting"),
    path("loading/chances/", views_plants.chances_page, name="loading-chances"),
    path("loading/plants/", views_plants.plants, name="loading-plants"),
    path("loading/plants/<str:plant>/", views_plants.plant, name="loading-plant"),
    path("loading/<path:machine>/<day:week>/", views_board.loading_week, name="loading-week"),
    path("rates/", views_rates.rates, name="rates"),
    path("rates/history/", views_rates.history, name="rates-history"),
    path("rates/<slug:table>.<slug:form>", views_rates.export, name="rates-export"),
    path("rates/import/", views_rates_import.upload, name="rates-import"),
    path("rates/import/<slug:token>/", views_rates_import.preview, name="rates-preview"),
    path("rates/import/<slug:token>/put-aside/", views_rates_import.put_aside, name="rates-put-aside"),
    path("rates/imports/", views_rates.imports, name="rates-imports"),
    path("rates/imports/<slug:number>/", views_rates.imported, name="rates-imported"),
    path("runs/", views_runs.runs, name="shop-runs"),
    path("runs/new/", views_runs.new, name="shop-run-new"),
    path("runs/<int:record>/", views_runs.run, name="shop-run"),
    path("runs/<int:record>/correct/", views_runs.correct, name="shop-run-correct"),
    path("runs/<int:record>/withdraw/", views_runs.withdraw, name="shop-run-withdraw"),
    path("runs/import/", views_runs_import.upload, name="shop-runs-import"),
    path("runs/import/<slug:upload>/", views_runs_import.preview, name="shop-runs-preview"),
    path("runs/import/<slug:upload>/put-aside/", views_runs_import.put_aside, name="shop-runs-put-aside"),
    path("runs/template.csv", views_runs_import.empty_table, name="shop-runs-template"),
    path("runs/accuracy/", views_runs.accuracy_page, name="shop-runs-accuracy"),
    path("runs/factors/", views_factors.factors, name="shop-runs-factors"),
    path("runs/factors/propose/", views_factors.propose, name="shop-factors-propose"),
    path("runs/factors/<int:factors>/accept/", views_factors.accept, name="shop-factors-accept"),
    path("runs/factors/<int:factors>/refuse/", views_factors.refuse, name="shop-factors-refuse"),
    path("runs/accuracy.csv", views_runs.accuracy_export, name="shop-runs-accuracy-csv"),
    path("repricing/", views_repricing.runs, name="repricing"),
    path("repricing/start/", views_repricing.start, name="repricing-start"),
    path("repricing/<int:run>/", views_repricing.run, name="repricing-run"),
    path("repricing/<int:run>/cancel/", views_repricing.cancel, name="repricing-cancel"),
    path("repricing/<int:run>/resume/", views_repricing.resume, name="repricing-resume"),
    path("repricing/<int:run>/results.csv", views_repricing.export, name="repricing-csv"),
    path("q/<slug:number>/<int:revision>/", views_customer.quote, name="customer-quote"),
    path("q/<slug:number>/<int:revision>/quote.pdf", views_customer.pdf, name="customer-pdf"),
    path("q/<slug:number>/<int:revision>/accept/", views_customer.accept, name="customer-accept"),
    path("q/<slug:number>/<int:revision>/change/", views_customer.change, name="customer-change"),
    path("q/<slug:number>/<int:revision>/decline/", views_customer.decline, name="customer-decline"),
    path("q/<str:token>/", views_customer.link, name="customer-link"),
]
