"""The web application: a page is a form, one call into `work/` or `job/`, a frozen context and a template."""
