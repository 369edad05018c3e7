package org.tidemark.programme;

/**
 * How much of an exercise is asked for, and how often. A part that does not belong to the exercise
 * is 0.
 *
 * @param sets how many sets, 1 or more
 * @param repetitions repetitions in a set, 0 when the set is one hold or one stretch of time
 * @param holdSeconds how long each repetition is held, s, 0 when nothing is held
 * @param timeSeconds how long a set lasts, s, 0 when repetitions are counted instead
 * @param timesPerWeek sessions in a week, 1 to 21
 */
public record Dose(int sets, int repetitions, int holdSeconds, int timeSeconds, int timesPerWeek) {
  public Dose {
    if (sets < 1 || repetitions < 0 || holdSeconds < 0 || timeSeconds < 0) {
      throw new IllegalArgumentException("a dose has at least one set and nothing below 0");
    }
    if (timesPerWeek < 1 || timesPerWeek > 21) {
      throw new IllegalArgumentException(
          "a dose is done 1 to 21 times a week, was " + timesPerWeek);
    }
  }

  /**
   * How much there is of it in one session: repetitions, held seconds or seconds, for comparing
   * doses of one exercise.
   */
  public int volume() {
    int perSet =
        timeSeconds > 0 ? timeSeconds : Math.max(1, repetitions) * Math.max(1, holdSeconds);
    return sets * perSet;
  }

  /** The same amount, done as often as said. */
  public Dose timesPerWeek(int times) {
    return new Dose(sets, repetitions, holdSeconds, timeSeconds, times);
  }
}
