package org.tidemark.report;

import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import org.tidemark.demand.Build;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * Computes how a person stands, kneels, sits or lies in an exercise, from the lengths and habits
 * that the demand models use. Where those say nothing (arms, furniture, the leg that is not
 * exercised), a usual posture is assumed.
 */
final class Postures {
  static final String STEP_HEIGHT = "step-height";
  static final String HAND_ASSIST = "hand-assist";
  static final String DUMBBELL_LOAD = "dumbbell-load";
  static final String HEEL_POSITION = "heel-position";
  static final String TOWEL_THICKNESS = "towel-thickness";
  static final String TOE_POSITION = "toe-position";
  static final String SEAT_HEIGHT = "seat-height";
  static final String BOARD_ANGLE = "board-angle";
  static final String WALL_DISTANCE = "wall-distance";
  static final String SEAT_DISTANCE = "seat-distance";
  static final String LEGS_USED = "legs-used";
  static final String DROP_HEIGHT = "drop-height";

  /** A towel is not used at less flexion than this, degrees: see the placement of the programme. */
  private static final double LEAST_ON_TOWEL = 90;

  /** Deepest flexion where a variation does not say how far it goes, degrees: full contact. */
  private static final double USUAL_DEPTH = 140;

  /**
   * How thick knee and buttock are below their joints, and knee and instep before them, metres
   * (assumption).
   */
  private static final double KNEE = 0.055;

  private static final double BUTTOCK = 0.10;
  private static final double FRONT = 0.065;

  /** How far the other leg is drawn beside the first where both do the same, metres. */
  private static final double BESIDE = 0.06;

  private static final double BENCH = 0.30;
  private static final double CRANK = 0.125;
  private static final double DUMBBELL = 0.075;
  private static final double HEAD = 0.65;

  private final Setting setting;
  private final Variation variation;
  private final Build build;
  private final List<Arm> arms = new ArrayList<>();
  private final List<Prop> props = new ArrayList<>();
  private final List<Posture.Measure> measures = new ArrayList<>();

  private Postures(Setting setting, Variation variation, Build build) {
    this.setting = setting;
    this.variation = variation;
    this.build = build;
  }

  /** The posture that a prescription asks for; empty for an exercise that has no picture. */
  static Optional<Posture> of(Prescription prescription, Variation variation, Build build) {
    Postures postures = new Postures(prescription.setting(), variation, build);
    return switch (variation.code()) {
      case "split-squat-rock" -> Optional.of(postures.splitSquat());
      case "towel-flexion-stretch" -> Optional.of(postures.towelStretch());
      case "quadruped-rock-back" -> Optional.of(postures.rockBack());
      case "bench-kneeling-sit-back" -> Optional.of(postures.sitBack());
      case "wall-quadriceps-stretch" -> Optional.of(postures.wallStretch());
      case "slant-board-squat" -> Optional.of(postures.boardSquat());
      case "standing-heel-raise" -> Optional.of(postures.heelRaise());
      case "recumbent-cycling" -> Optional.of(postures.cycling());
      default -> Optional.empty();
    };
  }

  private Posture splitSquat() {
    double step = metres(STEP_HEIGHT);
    boolean raised = is(HEEL_POSITION, "raised");
    double turn = raised ? -build.heelTilt() : 0;
    Point ball = new Point(build.ballAhead(), step);
    Point ankle = Leg.ankleOver(build, ball, turn);
    double lifted = ankle.y() - build.ankleHeight();
    Build.Squat squat = build.squat(reach(), raised, lifted);
    Point hip = new Point(ankle.x() + squat.hip(), squat.hipHeight());
    double up = Math.sqrt(Math.pow(build.shank(), 2) - Math.pow(squat.knee(), 2));
    Leg front = Leg.of(build, hip, ankle.plus(squat.knee(), up), ankle, turn).toes(build, 0);
    Leg rear = rearLeg(hip, new Point(ankle.x() + squat.rearBall(), 0));
    if (step > 0) {
      double left = -build.heelBehind() - 0.05;
      double right = front.toe().x() + 0.10;
      props.add(Prop.box(Prop.Kind.STEP, left, right, 0, step));
      Point middle = new Point((left + right) / 2, step / 2);
      measure(STEP_HEIGHT, new Point(right, 0), new Point(right, step), middle);
    }
    Point shoulder = hip.toward(90 - squat.lean(), build.trunk());
    standingArms(hip, shoulder);
    return posture(front, rear, shoulder, 90 - squat.lean());
  }

  /** The rear leg, straight, with what is left of its reach in the ankle. */
  private Leg rearLeg(Point hip, Point floor) {
    double straight = build.shank() + build.thigh();
    double foot = Math.hypot(build.ballAhead(), build.ankleHeight());
    double most = straight + foot;
    Point ball = hip.to(floor) <= most ? floor : hip.toward(hip.direction(floor), most);
    Point ankle = hip.joint(ball, straight, foot, -1);
    Point knee = hip.along(ankle, build.thigh() / straight);
    double sole = Math.toDegrees(Math.atan2(-build.ankleHeight(), build.ballAhead()));
    return Leg.of(build, hip, knee, ankle, ankle.direction(ball) - sole).toes(build, 0);
  }

  private Posture towelStretch() {
    double flexion = onTowel();
    double thighUp = 125;
    Point hip = new Point(0, BUTTOCK);
    Point knee = hip.toward(thighUp, build.thigh());
    Point ankle = knee.toward(thighUp - 180 + (180 - flexion), build.shank());
    Leg leg = Leg.of(build, hip, knee, ankle, knee.direction(ankle) + 75);
    double straight = build.thigh() + build.shank();
    double drop = hip.y() - build.heelBehind();
    double down = -Math.toDegrees(Math.asin(drop / straight));
    Leg other = Leg.of(build, hip, hip.toward(down, build.thigh()), hip.toward(down, straight), 90);
    Point shoulder = hip.plus(-build.trunk(), 0);
    double across = knee.direction(ankle) + 90;
    for (double share : new double[] {0.38, 0.28}) {
      Point grip = knee.along(ankle, share).toward(across, 0.07);
      arms.add(Arm.to(build, shoulder, grip, false, shoulder.direction(grip)));
    }
    addTowel(leg);
    return posture(leg, other, shoulder, 180);
  }

  private Posture rockBack() {
    double flexion = onTowel();
    Leg leg = kneeling(new Point(0, KNEE), flexion, is(TOE_POSITION, "tucked"));
    Point hip = leg.hip();
    boolean held = !is(HAND_ASSIST, "none");
    double lean =
        held
            ? Math.toDegrees(Math.asin((0.5 * build.stature() / 1.69 - hip.y()) / build.trunk()))
            : 70;
    Point shoulder = hip.toward(lean, build.trunk());
    Point lap = leg.hip().along(leg.knee(), 0.7).plus(0.02, 0.08);
    boolean fingertips = is(HAND_ASSIST, "fingertips");
    Point floor = shoulder.plus(fingertips ? 0.46 : 0.42, 0.02 - shoulder.y());
    Arm onFloor = Arm.to(build, shoulder, floor, true, fingertips ? -75 : -8);
    Arm onLap = Arm.to(build, shoulder, lap, false, -20);
    arms.add(held ? onFloor : onLap);
    arms.add(held && !is(HAND_ASSIST, "one-hand") ? onFloor : onLap);
    addTowel(leg);
    return posture(leg, beside(leg, BESIDE, 0), shoulder, held ? lean + 20 : lean + 10);
  }

  private Posture sitBack() {
    double seat = metres(SEAT_HEIGHT);
    double sine = Math.min(1, Math.max(0, seat + BUTTOCK - KNEE) / build.thigh());
    double onSeat = 180 - Math.toDegrees(Math.asin(sine));
    double flexion = Math.min(onTowel(), onSeat);
    Leg leg = kneeling(new Point(0, BENCH + KNEE), flexion, false);
    Point hip = leg.hip();
    props.add(Prop.box(Prop.Kind.BENCH, leg.toe().x() - 0.05, 0.12, 0, BENCH));
    if (seat > 0) {
      double left = hip.x() - 0.20;
      props.add(Prop.box(Prop.Kind.SEAT, left, hip.x() + 0.08, BENCH, BENCH + seat));
      Point beside = new Point(left - 0.20, BENCH + seat / 2);
      measure(SEAT_HEIGHT, new Point(left, BENCH), new Point(left, BENCH + seat), beside);
    }
    double most = 0.98 * (build.thigh() + build.shank());
    double down = hip.y() - build.ankleHeight();
    double ahead = Math.sqrt(Math.max(0, most * most - down * down));
    Point ankle = new Point(Math.min(0.30, hip.x() + ahead), build.ankleHeight());
    Leg other = standing(hip, ankle);
    Point shoulder = hip.toward(83, build.trunk());
    Point lap = hip.along(leg.knee(), 0.75).plus(0.02, 0.08);
    arms.add(Arm.to(build, shoulder, lap, false, -25));
    addTowel(leg);
    return posture(leg, other, shoulder, 88);
  }

  private Posture wallStretch() {
    double away = metres(WALL_DISTANCE);
    double pad = 0.05;
    double sine = away / build.shank();
    double lean = Math.toDegrees(Math.asin(Math.min(1, sine)));
    double wall = -away - FRONT;
    Point knee = new Point(0, pad + KNEE);
    Point ankle = knee.toward(90 + lean, build.shank());
    Point hip = knee.toward(90 + lean - (180 - reach()), build.thigh());
    Leg leg = Leg.of(build, hip, knee, ankle, 90);
    Leg other = standing(hip, new Point(hip.x() + 0.40, build.ankleHeight()));
    props.add(Prop.box(Prop.Kind.PAD, Math.max(wall, -0.15), 0.15, 0, pad));
    props.add(Prop.of(Prop.Kind.WALL, new Point(wall, 0), new Point(wall, 1.1)));
    if (away > 0) {
      Point middle = new Point(wall + away / 2, 0);
      measure(WALL_DISTANCE, new Point(wall, 0), new Point(wall + away, 0), middle);
    }
    Point shoulder = hip.toward(88, build.trunk());
    Point onKnee = other.knee().plus(-0.03, 0.08);
    arms.add(Arm.to(build, shoulder, onKnee, false, -30));
    return posture(leg, other, shoulder, 88);
  }

  private Posture boardSquat() {
    double slope = degrees(BOARD_ANGLE);
    double thin = 0.01 + BESIDE * Math.sin(Math.toRadians(slope));
    double flexion = reach();
    double tilt = Math.min(flexion, build.tilt(flexion) + slope);
    double length = build.foot() - build.heelBehind();
    Point toe = new Point(length, thin);
    Point ankle = toe.toward(180 - slope, length).toward(90 - slope, build.ankleHeight());
    Point knee = ankle.toward(90 - tilt, build.shank());
    Point hip = knee.toward(90 - tilt + flexion, build.thigh());
    Leg leg = Leg.of(build, hip, knee, ankle, -slope);
    double middle = leg.heel().along(leg.toe(), 0.5).x() - ankle.x();
    double lean = build.balancedLean(knee.x() - ankle.x(), hip.x() - ankle.x(), middle);
    Point front = toe.toward(-slope, BESIDE);
    Point back = leg.heel().toward(180 - slope, 0.04);
    props.add(
        Prop.of(Prop.Kind.BOARD, new Point(back.x(), 0), back, front, new Point(front.x(), 0)));
    Point shoulder = hip.toward(90 - lean, build.trunk());
    Point ahead = shoulder.plus(0.70, 0);
    arms.add(Arm.to(build, shoulder, ahead, true, 0));
    Point aside = new Point(0, 0).toward(-slope, BESIDE);
    return posture(leg, beside(leg, aside.x(), aside.y()), shoulder, 90 - 0.6 * lean);
  }

  private Posture heelRaise() {
    double edge = metres(DROP_HEIGHT);
    double raised = -35;
    Point ball = new Point(build.ballAhead(), edge);
    Leg leg = onBall(ball, raised);
    Point hip = leg.hip();
    double deepest = degreesOf("ankle-dorsiflexion").orElse(0.0);
    double heelToBall = build.heelBehind() + build.ballAhead();
    double free = Math.toDegrees(Math.asin(Math.min(1, edge / heelToBall)));
    Leg lowest = onBall(ball, Math.min(deepest, free));
    Leg other = beside(leg, BESIDE, 0);
    if (is(LEGS_USED, "one-leg")) {
      Point knee = hip.toward(-80, build.thigh());
      Point ankle = knee.toward(-150, build.shank());
      other = Leg.of(build, hip, knee, ankle, -60);
    }
    if (edge > 0) {
      double left = ball.x() - 0.02;
      double right = left + 0.45;
      props.add(Prop.box(Prop.Kind.STEP, left, right, 0, edge));
      Point middle = new Point((left + right) / 2, edge / 2);
      measure(DROP_HEIGHT, new Point(right, 0), new Point(right, edge), middle);
    }
    Point shoulder = hip.toward(90, build.trunk());
    standingArms(hip, shoulder);
    return new Posture(
        leg,
        other,
        shoulder,
        head(shoulder, 90),
        arms,
        props,
        Optional.empty(),
        Optional.of(lowest),
        measures);
  }

  /** A straight leg upon the ball of its foot. */
  private Leg onBall(Point ball, double turn) {
    Point ankle = Leg.ankleOver(build, ball, turn);
    Point knee = ankle.plus(0, build.shank());
    return Leg.of(build, knee.plus(0, build.thigh()), knee, ankle, turn).toes(build, 0);
  }

  private Posture cycling() {
    double moved = metres(SEAT_DISTANCE);
    double nearest = span(reach());
    double distance = Math.min(nearest + moved, build.thigh() + build.shank());
    double down = -12;
    Point hip = new Point(0, 0.55);
    Point ankle = hip.toward(down, distance);
    Leg leg = Leg.of(build, hip, bentUp(hip, ankle), ankle, 90 + down);
    double stretched = 0.97 * (build.thigh() + build.shank() + build.ballAhead());
    double crank = Math.min(CRANK, (stretched - hip.to(leg.ball())) / 2);
    Point axle = leg.ball().toward(down, crank);
    Point farPedal = leg.ball().toward(down, 2 * crank);
    Leg other = pedalling(hip, farPedal);
    props.add(Prop.box(Prop.Kind.SEAT, -0.20, 0.16, 0, hip.y() - BUTTOCK));
    Point back = hip.toward(115, build.trunk());
    props.add(
        Prop.of(
            Prop.Kind.SEAT,
            new Point(-0.14, hip.y() - BUTTOCK),
            new Point(-0.20, hip.y() - BUTTOCK),
            back.plus(-0.20, 0),
            back.plus(-0.14, 0)));
    props.add(Prop.of(Prop.Kind.POST, new Point(axle.x(), 0), axle));
    props.add(Prop.round(Prop.Kind.WHEEL, axle, Math.min(0.24, axle.y() - 0.03)));
    props.add(Prop.of(Prop.Kind.CRANK, leg.ball(), farPedal));
    if (moved > 0) {
      Point middle = new Point(0.16 + moved / 2, 0);
      measure(SEAT_DISTANCE, new Point(0.16, 0), new Point(0.16 + moved, 0), middle);
    }
    Point shoulder = hip.toward(115, build.trunk());
    arms.add(Arm.to(build, shoulder, hip.plus(0.12, -0.02), false, -60));
    return posture(leg, other, shoulder, 100);
  }

  /** The leg that the far pedal stretches: its foot turns as little as lets it reach. */
  private Leg pedalling(Point hip, Point pedal) {
    double most = 0.995 * (build.thigh() + build.shank());
    for (double turn = 75; turn > -75; turn--) {
      Point ankle = Leg.ankleOver(build, pedal, turn);
      if (hip.to(ankle) <= most) {
        return Leg.of(build, hip, bentUp(hip, ankle), ankle, turn);
      }
    }
    throw new IllegalArgumentException("no foot reaches a pedal " + hip.to(pedal) + " m away");
  }

  private Point bentUp(Point hip, Point ankle) {
    return hip.joint(ankle, build.thigh(), build.shank(), 1);
  }

  /** Distance from hip to ankle at a flexion of the knee, metres. */
  private double span(double flexion) {
    Point knee = new Point(build.thigh(), 0);
    return new Point(0, 0).to(knee.toward(flexion, build.shank()));
  }

  /** A leg that kneels, its shin along the ground behind the knee. */
  private Leg kneeling(Point knee, double flexion, boolean tucked) {
    double ground = knee.y() - KNEE;
    double ankleUp = ground + (tucked ? build.ballAhead() : 0.045);
    double rise = Math.toDegrees(Math.asin((ankleUp - knee.y()) / build.shank()));
    double shin = 180 - rise;
    Point ankle = knee.toward(shin, build.shank());
    Point hip = knee.toward(shin - (180 - flexion), build.thigh());
    return tucked
        ? Leg.of(build, hip, knee, ankle, -90).toes(build, 0)
        : Leg.of(build, hip, knee, ankle, -155);
  }

  /** A leg with its foot on the ground and its knee ahead. */
  private Leg standing(Point hip, Point ankle) {
    return Leg.of(build, hip, bentUp(hip, ankle), ankle, 0);
  }

  private static Leg beside(Leg leg, double ahead, double up) {
    return new Leg(
        leg.hip().plus(ahead, up),
        leg.knee().plus(ahead, up),
        leg.ankle().plus(ahead, up),
        leg.heel().plus(ahead, up),
        leg.ball().plus(ahead, up),
        leg.toe().plus(ahead, up));
  }

  /** Hands on a support, on dumbbells, or on the hips, as the setting says. */
  private void standingArms(Point hip, Point shoulder) {
    int holding = holding();
    double load = number(DUMBBELL_LOAD);
    boolean tips = is(HAND_ASSIST, "fingertips");
    Point rail = shoulder.plus(tips ? 0.56 : 0.48, -0.16);
    if (holding > 0) {
      props.add(Prop.of(Prop.Kind.RAIL, new Point(rail.x(), 0), rail));
    }
    for (int hand = 2; hand > 0; hand--) {
      if (hand > 2 - holding) {
        arms.add(Arm.to(build, shoulder, rail, tips, 0));
      } else if (load > 0) {
        Arm arm = Arm.hanging(build, shoulder);
        arms.add(arm);
        props.add(Prop.round(Prop.Kind.DUMBBELL, arm.tip(), DUMBBELL));
      } else {
        arms.add(Arm.to(build, shoulder, hip.plus(0.05, 0.08), false, -60));
      }
    }
  }

  /** How many hands are on the support. A measured share does not say: both. */
  private int holding() {
    Value assist = setting.get(HAND_ASSIST);
    if (assist instanceof Amount carried) {
      return carried.isZero() ? 0 : 2;
    }
    return !(assist instanceof Grade) || is(HAND_ASSIST, "none")
        ? 0
        : is(HAND_ASSIST, "two-hands") ? 2 : 1;
  }

  private Posture posture(Leg leg, Leg other, Point shoulder, double gaze) {
    Optional<Posture.Contact> contact =
        variation.contactAsked() ? Optional.of(contact(leg)) : Optional.empty();
    return new Posture(
        leg,
        other,
        shoulder,
        head(shoulder, gaze),
        arms,
        props,
        contact,
        Optional.empty(),
        measures);
  }

  private Posture.Contact contact(Leg leg) {
    double away = meeting(leg);
    Point calf = leg.knee().along(leg.ankle(), away / build.shank());
    Point thigh = leg.knee().along(leg.hip(), away / build.thigh());
    double apart = calf.to(thigh) - build.calfRadius() - build.thighRadius();
    return new Posture.Contact(calf, thigh, apart, metres(TOWEL_THICKNESS));
  }

  /**
   * How far from the knee calf and thigh meet, metres; on a thick towel, where it has room between
   * them.
   */
  private double meeting(Leg leg) {
    double towel = metres(TOWEL_THICKNESS);
    double needed = build.calfRadius() + build.thighRadius() + towel;
    double room = needed / (2 * Math.cos(Math.toRadians(leg.flexion() / 2)));
    return towel == 0 ? build.meetingDistance() : Math.max(build.meetingDistance(), room);
  }

  private void addTowel(Leg leg) {
    double towel = metres(TOWEL_THICKNESS);
    if (towel > 0) {
      Posture.Contact contact = contact(leg);
      double between = build.calfRadius() + contact.apart() / 2;
      Point middle =
          contact.calf().along(contact.thigh(), between / contact.calf().to(contact.thigh()));
      props.add(Prop.round(Prop.Kind.TOWEL, middle, towel / 2));
    }
  }

  /** Flexion at which calf and thigh meet on the towel, or the reach of the exercise, degrees. */
  private double onTowel() {
    double towel = metres(TOWEL_THICKNESS);
    return towel == 0
        ? reach()
        : Math.max(LEAST_ON_TOWEL, Math.min(reach(), build.contactFlexion(towel)));
  }

  private Point head(Point shoulder, double direction) {
    return shoulder.toward(direction, HEAD * build.headAndNeck());
  }

  private double reach() {
    return degreesOf("knee-flexion").orElse(USUAL_DEPTH);
  }

  private Optional<Double> degreesOf(String measure) {
    return Optional.ofNullable(variation.reach().get(measure))
        .filter(amount -> amount.unit() == Unit.DEGREE)
        .map(amount -> amount.value().doubleValue());
  }

  private void measure(String variable, Point from, Point to, Point label) {
    measures.add(new Posture.Measure(variable, from, to, label));
  }

  private double metres(String variable) {
    return number(variable) / 100;
  }

  private double degrees(String variable) {
    return number(variable);
  }

  private double number(String variable) {
    return setting.get(variable) instanceof Amount amount ? amount.value().doubleValue() : 0;
  }

  private boolean is(String variable, String grade) {
    return new Grade(grade).equals(setting.get(variable));
  }
}
