package org.tidemark.cohort;

import org.tidemark.trend.MeasuringMethod;

/**
 * How a person goes about the programme.
 *
 * @param adherence share of the asked days on which a session is done
 * @param awayPerYear times away in a year
 * @param morningMissed share of the mornings that are not answered
 * @param dropsOut yearly hazard of dropping out
 * @param visitDays days between measurements of range
 * @param method how range is measured
 */
record Habits(
    double adherence,
    double awayPerYear,
    double morningMissed,
    double dropsOut,
    int visitDays,
    MeasuringMethod method) {}
