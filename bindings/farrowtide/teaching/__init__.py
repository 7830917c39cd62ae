"""Lessons to copy, and homework to judge."""
