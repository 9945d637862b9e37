"""Which supplies this shelf can make: arrangements by construction, refused or ranked."""
