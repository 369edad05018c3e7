/**
 * A virtual cohort: invented people, each with a hidden tolerance, who follow the decision rules or
 * a plain rule day by day. It shows what the rules do to people who are as the assumptions say
 * ({@link org.tidemark.cohort.Assumption}), and nothing about a real person. A clinic can run it
 * with its own programme: {@code mvn -q test-compile exec:java -Pcohort -Dexec.args="2000 52"}.
 */
package org.tidemark.cohort;
