import gc
import os
from pathlib import Path

from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.template.loader import get_template
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "quoting.settings")
application = get_wsgi_application()

# Else the first visitors of each process would wait for these, some 0.3 s: reading the routes brings in all views.
get_resolver().url_patterns  # noqa: B018
for folder in (Path(one) for engine in settings.TEMPLATES for one in engine["DIRS"]):
    for path in folder.rglob("*.html"):
        get_template(path.relative_to(folder).as_posix())

# An answer makes some hundred thousand small objects that live until it is stored, and hardly a cycle. With Python's
# threshold of 700 the collector walks through them all again and again; what was loaded above stays for good.
gc.collect()
gc.freeze()
gc.set_threshold(10_000, 20, 20)
