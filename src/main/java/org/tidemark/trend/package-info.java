/**
 * Measurements over time: what change between two of them is more than measurement error. Pure; may
 * use {@code quantity} and nothing else of ours.
 */
package org.tidemark.trend;
