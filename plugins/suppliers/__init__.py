"""Hooks come here."""
