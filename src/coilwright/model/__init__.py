"""The whole design as frozen records in SI units. Nobody edits a Design: ``dataclasses.replace`` makes the next one."""
