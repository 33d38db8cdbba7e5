"""The one Django application."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "airtrim.web"
    label = "web"
    default_auto_field = "django.db.models.BigAutoField"
    verbose_name = "airtrim"
