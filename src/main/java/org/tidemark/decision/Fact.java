package org.tidemark.decision;

import java.time.OffsetDateTime;
import java.util.Comparator;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Side;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Value;
import org.tidemark.response.Morning;
import org.tidemark.response.ResponsePolicy;
import org.tidemark.response.Session;

/** Something known about one plan, with when it was so and where it was read. */
public sealed interface Fact {

  /**
   * Clinical order: by time, then by what must be known first, then by source, then by content, so
   * that two facts of one record have one order too.
   */
  Comparator<Fact> CLINICAL_ORDER =
      Comparator.comparing(Fact::at, OffsetDateTime.timeLineOrder())
          .thenComparingInt(Fact::rank)
          .thenComparing(Fact::source)
          .thenComparing(Fact::toString);

  /** When it was so, in the offset of whoever said it. */
  OffsetDateTime at();

  /** Where it was read. */
  FactSource source();

  /** What comes first among facts of one moment: the lower rank. */
  int rank();

  /** The person starts the programme. */
  record Enrolled(
      OffsetDateTime at, FactSource source, Side side, ResponsePolicy policy, ChangeControl control)
      implements Fact {
    @Override
    public int rank() {
      return 4;
    }
  }

  /**
   * A baseline assessment.
   *
   * @param items by code of the item; what was not assessed is absent
   * @param method the code of the method of its angles, blank when not said
   * @param rater who measured, by any name that tells raters apart, blank when not said
   */
  record BaselineTaken(
      OffsetDateTime at, FactSource source, Map<String, Value> items, String method, String rater)
      implements Fact {
    public BaselineTaken {
      items = java.util.Collections.unmodifiableMap(new java.util.TreeMap<>(items));
    }

    @Override
    public int rank() {
      return 0;
    }
  }

  /** What the person has at home; replaces what was known before. */
  record EquipmentListed(OffsetDateTime at, FactSource source, Equipment equipment)
      implements Fact {
    @Override
    public int rank() {
      return 1;
    }
  }

  /** A limit set by someone with authority over the person. */
  record PrecautionSet(OffsetDateTime at, FactSource source, Precaution precaution)
      implements Fact {
    @Override
    public int rank() {
      return 2;
    }
  }

  /** Signs that exercise stops for. */
  record WarningRaised(OffsetDateTime at, FactSource source, Set<Warning> warnings)
      implements Fact {
    public WarningRaised {
      warnings = java.util.Collections.unmodifiableSet(new java.util.TreeSet<>(warnings));
    }

    @Override
    public int rank() {
      return 3;
    }
  }

  /** A clinician has looked and lets the exercise go on. */
  record Resumed(OffsetDateTime at, FactSource source) implements Fact {
    @Override
    public int rank() {
      return 5;
    }
  }

  /**
   * A clinician's answer to a proposed change.
   *
   * @param accepted whether the proposal is accepted
   * @param proposed the prescriptions that were proposed, as the clinician saw them; at least one
   *     when they are accepted
   */
  record SignedOff(
      OffsetDateTime at, FactSource source, boolean accepted, List<Prescription> proposed)
      implements Fact {
    public SignedOff {
      proposed = List.copyOf(proposed);
      if (accepted && proposed.isEmpty()) {
        throw new IllegalArgumentException("an accepted proposal has at least one prescription");
      }
    }

    @Override
    public int rank() {
      return 6;
    }
  }

  /** A clinician has set an exercise by hand; the service goes on from there. */
  record Overridden(OffsetDateTime at, FactSource source, Prescription prescription)
      implements Fact {
    @Override
    public int rank() {
      return 7;
    }
  }

  /**
   * A clinician sets what a goal is to reach, or leaves it to the programme again.
   *
   * @param goal the code of the goal
   * @param target the value to reach; empty when it is left to the programme
   */
  record TargetSet(OffsetDateTime at, FactSource source, String goal, Optional<Value> target)
      implements Fact {
    @Override
    public int rank() {
      return 8;
    }
  }

  /**
   * A clinician puts the plan on hold or takes it off.
   *
   * @param held whether it is on hold from now on
   */
  record Held(OffsetDateTime at, FactSource source, boolean held) implements Fact {
    @Override
    public int rank() {
      return 8;
    }
  }

  /**
   * A measurement of the body.
   *
   * @param item the code of what was measured
   * @param amount how much
   * @param method the code of the method, blank when not said
   * @param rater who measured, by any name that tells raters apart, blank when not said
   */
  record Measured(
      OffsetDateTime at, FactSource source, String item, Amount amount, String method, String rater)
      implements Fact {
    @Override
    public int rank() {
      return 9;
    }
  }

  /** A session done. */
  record SessionDone(OffsetDateTime at, FactSource source, Session session) implements Fact {
    @Override
    public int rank() {
      return 10;
    }
  }

  /** The morning after. */
  record MorningAfter(OffsetDateTime at, FactSource source, Morning morning) implements Fact {
    @Override
    public int rank() {
      return 11;
    }
  }

  /** A pain score without a word on when it was felt; its time says so. */
  record PainScored(OffsetDateTime at, FactSource source, PainScore pain) implements Fact {
    @Override
    public int rank() {
      return 12;
    }
  }

  /**
   * Reports that came together lead more than one step up. What was in force while they were made
   * stays so, and where they lead waits for a clinician: nobody is taken several steps up at once.
   *
   * @param kept the prescriptions that were in force
   * @param proposed the prescriptions that the reports lead to
   */
  record CaughtUp(
      OffsetDateTime at, FactSource source, List<Prescription> kept, List<Prescription> proposed)
      implements Fact {
    public CaughtUp {
      kept = List.copyOf(kept);
      proposed = List.copyOf(proposed);
    }

    @Override
    public int rank() {
      return 13;
    }
  }
}
