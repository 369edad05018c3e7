package org.tidemark.cohort;

import java.util.List;
import java.util.Optional;
import org.tidemark.programme.Prescription;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * One knee from day to day. Load above tolerance hurts, lingers and weakens; load near it makes it
 * stronger; rest lets both fade. Range comes nearer to a ceiling with exercise, stalls and wanders.
 */
final class Knee {
  private static final double FULL_TURN = 180 / Math.PI;

  private static final double NIGHT = 13 / 24.0;

  private final Traits traits;
  private final TrueDemand demand;
  private double flexion;
  private double capacity;
  private double lingering;
  private boolean swelling;
  private int stalledUntil;
  private boolean trained;
  private boolean bent;

  Knee(Traits traits, TrueDemand demand) {
    this.traits = traits;
    this.demand = demand;
    this.flexion = traits.flexion();
    this.capacity = traits.capacity();
  }

  /** Gap between calf and thigh at a flexion, cm. */
  static double gap(Traits traits, double flexion) {
    return Math.max(0, (traits.contactAngle() - flexion) * Assumption.FOLD_ARM.value() / FULL_TURN);
  }

  double flexion() {
    return flexion;
  }

  /** The load tolerated now; 1 is the reference. */
  double capacity() {
    return capacity;
  }

  /** Exercise that moves range, without a word on how it felt. */
  void bend() {
    bent = true;
  }

  Felt session(int day, List<Prescription> done, Luck luck) {
    double strength =
        Math.log(capacity)
            - Assumption.SORE_WEAKENS.value() * lingering
            + traits.dayToDay() * luck.tolerance();
    double overload = Double.NEGATIVE_INFINITY;
    boolean contact = true;
    for (Prescription exercise : done) {
      Optional<Double> asks = demand.of(exercise);
      double help = asks.isPresent() ? Assumption.WEIGHT_HELPS.value() : 0;
      double needed = traits.contactAngle() - towel(exercise) - help;
      boolean deep = asks.isPresent() || exercise.setting().get("towel-thickness") != null;
      if (deep) {
        double past = Math.max(0, Math.min(traits.pushed(), needed - flexion)) + extra(exercise);
        double stretched =
            past
                - traits.stretchTolerated()
                + Assumption.STIFF_DAYS.value() * traits.dayToDay() * luck.tolerance();
        overload = Math.max(overload, stretched / Assumption.STRETCH_SCALE.value());
        contact &=
            flexion + traits.pushed() / 2 + Assumption.DEPTH_VARIES.value() * luck.depth()
                >= needed;
      }
      if (asks.isPresent()) {
        double load = Math.log(asks.get()) - strength;
        overload = Math.max(overload, load);
        strengthen(Math.exp(load));
      }
    }
    bent = true;
    double hurts = traits.irritability() * Math.max(0, overload);
    double base = traits.restPain() + lingering;
    double stray = luck.stray() < traits.strayPain() ? 1 : 0;
    int during = score(base + hurts + stray, luck.painNoise()[0]);
    int after = score(base + Assumption.PAIN_AFTER.value() * hurts, luck.painNoise()[1]);
    lingering += traits.delay() * hurts;
    double swell =
        overload > 0
            ? traits.swells() * (1 - Math.exp(-overload / Assumption.SWELLING_SCALE.value()))
            : 0;
    swelling |= luck.swells() < swell;
    return new Felt(day, during, after, contact, Math.exp(overload));
  }

  private void strengthen(double load) {
    trained |= load >= Assumption.STIMULUS_FROM.value();
    double stimulus =
        load > Assumption.STIMULUS_FULL.value()
            ? Math.min(
                1,
                (Assumption.STIMULUS_LOST.value() - load) / (Assumption.STIMULUS_LOST.value() - 1))
            : (load - Assumption.STIMULUS_FROM.value())
                / (Assumption.STIMULUS_FULL.value() - Assumption.STIMULUS_FROM.value());
    double room = 1 - capacity / traits.capacityCeiling();
    capacity *= 1 + traits.growth() * Math.max(0, stimulus) * Math.max(0, room);
  }

  /** The night after a day, and what the day itself brings. */
  Woken night(int day, Luck luck) {
    if (!trained && capacity > traits.capacity()) {
      capacity -= Assumption.CAPACITY_FADES.value() * (capacity - traits.capacity());
    }
    if (luck.badDay()[0] < traits.badDaysPerYear() / 365) {
      lingering += Assumption.BAD_DAY_PAIN.at(luck.badDay()[1]);
    }
    moveRange(day, luck);
    lingering *= Math.exp(-NIGHT / traits.settleDays());
    int pain = score(traits.restPain() + lingering, luck.painNoise()[2]);
    boolean sore = pain > traits.restPain();
    Woken woken =
        new Woken(pain, swelling, sore && luck.unwilling() < Assumption.UNWILLING.value());
    lingering *= Math.exp((NIGHT - 1) / traits.settleDays());
    swelling = false;
    trained = false;
    bent = false;
    return woken;
  }

  private void moveRange(int day, Luck luck) {
    if (luck.stalls()[0] < traits.stallsPerYear() / 365) {
      stalledUntil = day + (int) Assumption.STALL_LASTS.at(luck.stalls()[1]);
    }
    if (bent && day >= stalledUntil) {
      flexion += traits.rangeRate() * (traits.ceiling() - flexion);
    } else if (!bent && flexion > traits.flexion()) {
      flexion -= Assumption.RANGE_LOST.value() * (flexion - traits.flexion());
    }
    flexion += traits.wander() * luck.range();
  }

  private int score(double pain, double deviate) {
    double noise =
        traits.restPain() > 0 ? Assumption.NOISE_SORE.value() : Assumption.NOISE_QUIET.value();
    return (int) Math.max(0, Math.min(10, Math.round(pain + noise * deviate)));
  }

  /** How many degrees a towel behind the knee takes off the bend. */
  private static double towel(Prescription exercise) {
    return exercise.setting().get("towel-thickness") instanceof Amount towel
            && towel.unit() == Unit.CENTIMETRE
        ? FULL_TURN * towel.value().doubleValue() / Assumption.FOLD_ARM.value()
        : 0;
  }

  /** How far a stretch without load goes, on a scale of its own. */
  static double stretch(Prescription exercise) {
    return (extra(exercise) - towel(exercise)) / 10;
  }

  /** What toes and hands add to a stretch without load, deg. */
  private static double extra(Prescription exercise) {
    if (exercise.setting().get("towel-thickness") == null) {
      return 0;
    }
    Value hands = exercise.setting().get("hand-assist");
    List<Grade> grades =
        List.of("two-hands", "one-hand", "fingertips", "none").stream().map(Grade::new).toList();
    double toes =
        new Grade("relaxed").equals(exercise.setting().get("toe-position"))
            ? Assumption.TOES.value()
            : 0;
    return toes
        + (hands == null ? 0 : Assumption.HANDS.value() * Math.max(0, grades.indexOf(hands)));
  }
}
