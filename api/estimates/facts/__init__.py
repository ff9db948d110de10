"""From the record, the vessels, the probes and the calibrations to what estimates stand on."""
