import gc
import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "quoting.settings")
application = get_wsgi_application()

# An answer makes some hundred thousand small objects that live until it is stored, and hardly a cycle. With Python's
# threshold of 700 the collector walks through them all again and again; what was loaded above stays for good.
gc.collect()
gc.freeze()
gc.set_threshold(10_000, 20, 20)
