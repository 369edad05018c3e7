package org.tidemark.cohort;

/**
 * How a morning really is.
 *
 * @param pain pain, whole points
 * @param swollen whether the knee is more swollen than usual
 * @param unwilling whether the person would not gladly repeat yesterday's session
 */
record Woken(int pain, boolean swollen, boolean unwilling) {}
