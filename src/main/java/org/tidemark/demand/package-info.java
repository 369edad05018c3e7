/**
 * How much one setting of an exercise asks of a person beside another: the body's segments, the
 * statics of a movement, and a ratio with its band. It orders settings of one person; it never says
 * that one is safe. May use {@code quantity} and {@code programme}; never sees FHIR, the database,
 * a framework or the clock.
 *
 * <p>Claimed: the order of one person's own settings, and which way a change goes. At 90 degrees of
 * flexion and less its size is good to about half of it; above 90 it says only that a setting asks
 * more or less than another, and the result is marked as extrapolated. Not claimed: that a setting
 * is safe, anything about tissue, a comparison of two people. Pain and swelling decide, not this.
 * Forces stay inside, as shares of body weight: nothing here gives newtons or pascals.
 *
 * <p>Known misfits of the front-leg model:
 *
 * <ul>
 *   <li>The peak on the way down comes out at about 5 times body weight; 3.4 ± 0.56 was measured
 *       (Glitsch, Heinrich, Ellegast 2022, Appl Sci 12(1):255).
 *   <li>At the bottom it gives 3.6 to 4.5 where 0.9 to 1.1 was measured: real contact unloads more
 *       than the published contact force, and people lean on their heel and hands. Contact is
 *       therefore taken as uncertain by a factor of 1 to 3, and deeper is never called lighter.
 *   <li>A pack of 10 kg adds 12 % here and added 23 % on a slant board (Zwerver 2007, BJSM
 *       41:264-8). The effect of a load is therefore taken as uncertain by a factor of 1 to 1.9.
 *   <li>Horizontal forces under the feet, muscles that work against each other, what happens
 *       sideways, speed and the shape of one person's joint are left out.
 *   <li>The share of the front foot on a step has not been measured by anyone: it is bounded by the
 *       shares measured with the feet level and with the rear foot raised, and by geometry.
 * </ul>
 */
package org.tidemark.demand;
