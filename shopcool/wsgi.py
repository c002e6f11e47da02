"""The WSGI door of Shopcool."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shopcool.settings")

application = get_wsgi_application()
