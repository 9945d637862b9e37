"""The project file: read, checked, converted to a Design, edited and saved. The edge where units become SI."""
