"""Judgement, pure: conditions, rules, verdict, words."""
