"""airtrim: set the airflow of an existing ducted air conditioner so that a humid house dries without harm."""

__version__ = "0.1.0"
