package org.tidemark.cohort;

/**
 * What a knee is like, hidden from every policy. Units and sources: the {@link Assumption} of the
 * same matter.
 *
 * @param contactAngle flexion at which calf and thigh meet, deg
 * @param flexion comfortable flexion at the start, deg
 * @param ceiling flexion that it can reach at last, deg
 * @param rangeRate share of the way to the ceiling won by a day of exercise
 * @param wander wandering of range, deg a day
 * @param stallsPerYear stalls in a year
 * @param stretchTolerated degrees past comfortable flexion without pain
 * @param pushed farthest it is pushed past comfortable flexion, deg
 * @param capacity load tolerated at the start
 * @param capacityCeiling load tolerated at last
 * @param growth growth of tolerance by a session near it
 * @param dayToDay variation of tolerance from day to day, of its logarithm
 * @param restPain pain at rest, whole points
 * @param irritability pain points for each unit of overload
 * @param delay share of that pain that lingers
 * @param settleDays days until lingering pain falls to a third
 * @param swells chance that a great overload shows as swelling
 * @param strayPain chance of a stray point of pain in a session
 * @param badDaysPerYear days on which daily life irritates
 * @param misfitExponent power that the modelled demand is raised to
 * @param misfit error of the model at each setting, of its logarithm
 */
record Traits(
    double contactAngle,
    double flexion,
    double ceiling,
    double rangeRate,
    double wander,
    double stallsPerYear,
    double stretchTolerated,
    double pushed,
    double capacity,
    double capacityCeiling,
    double growth,
    double dayToDay,
    int restPain,
    double irritability,
    double delay,
    double settleDays,
    double swells,
    double strayPain,
    double badDaysPerYear,
    double misfitExponent,
    double misfit) {

  /** The same knee with nothing that could hurt. */
  Traits painless() {
    return new Traits(
        contactAngle,
        flexion,
        ceiling,
        rangeRate,
        wander,
        stallsPerYear,
        stretchTolerated,
        pushed,
        capacity,
        capacityCeiling,
        growth,
        dayToDay,
        0,
        0,
        0,
        settleDays,
        0,
        0,
        0,
        misfitExponent,
        misfit);
  }
}
