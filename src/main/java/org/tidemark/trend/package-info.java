/**
 * A joint's range over time: where it stands ({@link org.tidemark.trend.Trend}), what change is
 * more than measurement error ({@link org.tidemark.trend.RangeChange}), when it will reach a goal
 * ({@link org.tidemark.trend.Forecast}) and whether it has stood still ({@link
 * org.tidemark.trend.Plateau}). Pure; may use {@code quantity}, Hipparchus and nothing else of
 * ours. The same readings give the same answer on any machine.
 */
package org.tidemark.trend;
