"""The embedded database: readings and what became of installations, in one GeoPackage."""
