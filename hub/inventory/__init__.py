"""The inventory of a venue: tables, service, REST."""
