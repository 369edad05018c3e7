package org.tidemark.cohort;

import java.util.List;
import java.util.Optional;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;

/** A way of grading a programme. */
interface Policy {
  /** A few words for it. */
  String title();

  /** What it does, in a sentence for a clinician. */
  String words();

  /**
   * One person's course under it, from day 0.
   *
   * @param programme the programme
   */
  Course begin(Programme programme, Person person);

  /** Whether a person in a flare rests until the knee is quiet, for want of something easier. */
  default boolean restsUntilQuiet() {
    return true;
  }

  /** One person's course. Days count from 0; a day is morning, noon, evening. */
  interface Course {
    /** What is asked on an evening; empty when nothing is. */
    List<Prescription> asked();

    /**
     * A morning.
     *
     * @param answer what the person answered; empty when there was no answer
     */
    void morning(int day, Optional<Woken> answer);

    /** A noon: what clinicians and the post bring. */
    void noon(int day);

    /** A session, as the person reports it. */
    void session(Felt felt);

    /**
     * A measurement.
     *
     * @param degrees comfortable flexion, deg
     * @param gapCentimetres gap at that flexion, cm
     */
    void measured(int day, double degrees, double gapCentimetres);

    /** How many upward changes have been taken. */
    int stepsTaken();

    /** What the course is held up by on this day; empty where that cannot be told. */
    default Optional<HeldUp> heldUp() {
      return Optional.empty();
    }

    /** Pieces of equipment that were asked for and have come. */
    default int piecesGot() {
      return 0;
    }
  }
}
