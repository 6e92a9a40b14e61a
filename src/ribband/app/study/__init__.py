"""Studies: many ways of planking one hull, compared."""
