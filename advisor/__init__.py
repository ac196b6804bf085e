"""Diagnostic advisor for residential oil burners."""
