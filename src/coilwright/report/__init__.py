"""Results become words, tables, JSON, drawings and pages here; nothing is computed."""
