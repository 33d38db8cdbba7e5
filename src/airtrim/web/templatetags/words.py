"""The catalogue's sentences in templates: {% say "web.jobs.title" %}, {{ identity|named:"option" }}."""

from collections.abc import Mapping
from typing import Any

from django import template
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString, mark_safe

from airtrim.report import words

register = template.Library()


@register.simple_tag
def say(identity: str, **values: Any) -> SafeString:
    """A sentence with its values, each escaped."""
    return mark_safe(words.say(identity, {name: conditional_escape(value) for name, value in values.items()}))


@register.filter
def named(identity: str, kind: str) -> str:
    """The name of a figure, option, setting or limit."""
    return words.label(identity, kind)


@register.filter
def sentence(message: Mapping[str, Any]) -> str:
    """A message {id, values} as its sentence."""
    return words.say(str(message["id"]), message.get("values"))
