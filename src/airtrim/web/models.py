"""What the database holds: jobs and every version of their document, work to be done, what came of it, the shop's own settings."""

import uuid
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models


class Job(models.Model):
    """A job and the number of its newest version; name and place are copied from the document for the list."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=200)
    place = models.CharField(max_length=200, blank=True)
    search = models.CharField(max_length=500, blank=True)
    latest = models.PositiveIntegerField(default=0)
    created = models.DateTimeField(auto_now_add=True)
    changed = models.DateTimeField(auto_now=True)

    class Meta:
        indexes = [models.Index(fields=["-changed", "id"])]

    def __str__(self) -> str:
        return str(self.name)


class JobVersion(models.Model):
    """The whole text of a job's document as somebody left it. Versions are only ever added."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="versions")
    number = models.PositiveIntegerField()
    text = models.TextField()
    sha256 = models.CharField(max_length=64)
    author = models.CharField(max_length=150)
    what = models.CharField(max_length=200)
    restores = models.PositiveIntegerField(null=True)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "number"], name="one_version_a_number")]

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise ValidationError("A version is never changed; add another one.")
        super().save(*args, **kwargs)


class WorkItem(models.Model):
    """Something long to be computed. At most one item with the same key waits or runs; its result is kept once."""

    QUEUED, RUNNING, DONE, FAILED, CANCELLED = "queued", "running", "done", "failed", "cancelled"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    kind = models.CharField(max_length=20)
    key = models.CharField(max_length=100)
    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="work")
    arguments = models.JSONField(default=dict)
    state = models.CharField(max_length=10, default=QUEUED)
    share = models.FloatField(default=0.0)
    tries = models.PositiveIntegerField(default=0)
    claim = models.CharField(max_length=36, blank=True)
    beat = models.DateTimeField(null=True)
    cancel = models.BooleanField(default=False)
    sentence = models.TextField(blank=True)
    created = models.DateTimeField(auto_now_add=True)
    finished = models.DateTimeField(null=True)

    class Meta:
        indexes = [models.Index(fields=["state", "created"])]
        constraints = [
            models.UniqueConstraint(
                fields=["key"], condition=models.Q(state__in=["queued", "running"]), name="one_live_item_a_key"
            )
        ]


class Outcome(models.Model):
    """A computed plan, kept under the hash of what it was computed from."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="outcomes")
    key = models.CharField(max_length=100)
    version = models.PositiveIntegerField()
    result = models.JSONField()
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "key"], name="one_outcome_a_key")]


class Picture(models.Model):
    """A picture of an outcome, drawn once by the worker for a unit system and a width."""

    outcome = models.ForeignKey(Outcome, on_delete=models.CASCADE, related_name="pictures")
    name = models.CharField(max_length=20)
    units = models.CharField(max_length=12)
    width = models.PositiveIntegerField()
    svg = models.TextField()
    specification = models.JSONField(default=dict)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["outcome", "name", "units", "width"], name="one_picture_a_use"),
        ]


class Paper(models.Model):
    """The PDF of an outcome for a unit system, a paper size and a letterhead (its mark)."""

    outcome = models.ForeignKey(Outcome, on_delete=models.CASCADE, related_name="papers")
    units = models.CharField(max_length=12)
    size = models.CharField(max_length=8)
    letterhead = models.CharField(max_length=16, blank=True, default="")
    pdf = models.BinaryField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["outcome", "units", "size", "letterhead"], name="one_paper_a_use"),
        ]


class Shop(models.Model):
    """What holds for all jobs of this shop: one row."""

    units = models.CharField(max_length=12, default="inch_pound")
    paper = models.CharField(max_length=8, default="letter")
    firm = models.CharField(max_length=120, blank=True)
    address = models.CharField(max_length=240, blank=True)
    telephone = models.CharField(max_length=60, blank=True)
    licence = models.CharField(max_length=120, blank=True)
    price_per_kwh = models.CharField(max_length=12, blank=True)
    currency = models.CharField(max_length=8, default="USD")


class Instrument(models.Model):
    """A way the shop reads airflow, and how far a reading may be off."""

    name = models.CharField(max_length=80, unique=True)
    accuracy = models.CharField(max_length=20)
    checked = models.DateField(null=True)

    class Meta:
        ordering = ["name"]
