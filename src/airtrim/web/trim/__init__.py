"""Trim by slider: a resident process keeps a job's fitted systems warm and answers with the year, the newest request first."""
