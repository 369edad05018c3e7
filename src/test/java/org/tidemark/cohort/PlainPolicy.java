package org.tidemark.cohort;

import java.util.List;
import java.util.Optional;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;

/** The plain policies that the rules are measured against, and a control. */
enum PlainPolicy implements Policy {
  WEEKLY_STEP(
      "a step each week",
      "The smallest step that the equipment makes, every week, whatever the knee says; in a flare"
          + " the person rests until it is quiet and goes on where it stopped.") {
    @Override
    Course course(PlainSteps steps, Person person) {
      return new WeeklyStep(steps);
    }
  },
  PAIN_FREE_STEP(
      "a step when today is pain-free",
      "The smallest step as soon as a session hurt no more than the knee does at rest, during and"
          + " after; one step back after a flare, with rest until it is quiet.") {
    @Override
    Course course(PlainSteps steps, Person person) {
      return new PainFreeStep(steps, person);
    }
  },
  PAIN_MONITORED(
      "pain monitored, weekly",
      "Each week: pain up to 2 and quiet mornings, one step on; up to 5, stay; above 5 or a worse"
          + " morning, one step back (Thomeé 1997, Silbernagel 2007). No cap on demand.") {
    @Override
    Course course(PlainSteps steps, Person person) {
      return new PainMonitored(steps, person);
    }
  },
  /** How many flares daily life and the start itself give, whatever is done about the grading. */
  NEVER_A_STEP("never a step", "What the start asked, for good.") {
    @Override
    Course course(PlainSteps steps, Person person) {
      return new NeverAStep(steps);
    }
  };

  private static final int WEEK = 7;

  private final String title;
  private final String words;

  PlainPolicy(String title, String words) {
    this.title = title;
    this.words = words;
  }

  abstract Course course(PlainSteps steps, Person person);

  @Override
  public String words() {
    return words;
  }

  @Override
  public String title() {
    return title;
  }

  @Override
  public Course begin(Programme programme, Person person) {
    return course(new PlainSteps(programme, person), person);
  }

  /** What plain courses share. */
  private abstract static class Plain implements Course {
    final PlainSteps steps;

    Plain(PlainSteps steps) {
      this.steps = steps;
    }

    @Override
    public List<Prescription> asked() {
      return steps.now();
    }

    @Override
    public void morning(int day, Optional<Woken> answer) {}

    @Override
    public void noon(int day) {}

    @Override
    public int stepsTaken() {
      return steps.taken();
    }

    @Override
    public void measured(int day, double degrees, double gapCentimetres) {
      steps.measured(degrees, gapCentimetres);
    }
  }

  private static final class NeverAStep extends Plain {
    NeverAStep(PlainSteps steps) {
      super(steps);
    }

    @Override
    public void session(Felt felt) {}
  }

  private static final class WeeklyStep extends Plain {
    private boolean exercised;

    WeeklyStep(PlainSteps steps) {
      super(steps);
    }

    @Override
    public void session(Felt felt) {
      exercised = true;
    }

    @Override
    public void noon(int day) {
      if (day > 0 && day % WEEK == 0 && exercised) {
        steps.on();
        exercised = false;
      }
    }
  }

  private static final class PainFreeStep extends Plain {
    private final int rest;
    private boolean ready;

    PainFreeStep(PlainSteps steps, Person person) {
      super(steps);
      this.rest = person.traits().restPain();
    }

    @Override
    public void session(Felt felt) {
      ready = felt.during() <= rest && felt.after() <= rest;
    }

    @Override
    public void morning(int day, Optional<Woken> answer) {
      boolean flared =
          answer.filter(woken -> woken.pain() >= rest + 2 || woken.swollen()).isPresent();
      if (flared) {
        steps.back();
      } else if (ready) {
        steps.on();
      }
      ready = false;
    }
  }

  private static final class PainMonitored extends Plain {
    private static final int SAFE = 2;
    private static final int ACCEPTABLE = 5;

    /** Fewer sessions in a week say nothing (assumption). */
    private static final int LEAST_SESSIONS = 3;

    private final int rest;
    private int sessions;
    private int worst;
    private boolean worseMorning;
    private boolean yesterday;

    PainMonitored(PlainSteps steps, Person person) {
      super(steps);
      this.rest = person.traits().restPain();
    }

    @Override
    public void session(Felt felt) {
      sessions++;
      worst = Math.max(worst, Math.max(felt.during(), felt.after()));
      yesterday = true;
    }

    @Override
    public void morning(int day, Optional<Woken> answer) {
      worseMorning |=
          yesterday && answer.filter(woken -> woken.pain() > rest || woken.swollen()).isPresent();
      yesterday = false;
    }

    @Override
    public void noon(int day) {
      if (day == 0 || day % WEEK != 0) {
        return;
      }
      if (worst > ACCEPTABLE || worseMorning) {
        steps.back();
      } else if (worst <= SAFE && sessions >= LEAST_SESSIONS) {
        steps.on();
      }
      sessions = 0;
      worst = 0;
      worseMorning = false;
    }
  }
}
