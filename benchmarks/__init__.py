"""The project's own measurements: ``./run accuracy`` and ``./run benchmark`` write the committed reports in docs/."""
