"""Sentences and records of the bench and of jobs."""
