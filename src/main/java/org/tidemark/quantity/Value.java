package org.tidemark.quantity;

/**
 * What a setting or a recorded item can hold: an amount with its unit, a grade of a scale, or yes
 * or no.
 */
public sealed interface Value permits Amount, Grade, YesNo {}
