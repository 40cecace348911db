"""One model of what tanks read, and which part of it changed. It knows no site and no record."""
