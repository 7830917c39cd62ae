"""A protocol, daily sheets and an audit sheet to print, from a scenario and a file of phrases."""
