"""Findings: rules, table, service, routes."""
