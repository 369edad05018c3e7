package org.tidemark.fhir;

import java.util.Arrays;
import java.util.Optional;

/** The topics that can be subscribed to. */
public enum Topic {
  /** A CarePlan has a new version: by a decision, or by a clinician. */
  PLAN_CHANGED("plan-changed", "CarePlan"),
  /** A change waits for a clinician's sign-off. */
  SIGN_OFF_WAITING("sign-off-waiting", "Task"),
  /** A warning sign was reported. */
  WARNING_RAISED("warning-raised", "DetectedIssue"),
  /** A goal was reached that was not reached before. */
  GOAL_REACHED("goal-reached", "Goal");

  private static final String BASE = Codes.BASE + "/SubscriptionTopic/";

  private final String code;
  private final String focus;

  Topic(String code, String focus) {
    this.code = code;
    this.focus = focus;
  }

  /** The topic of an address. */
  public static Optional<Topic> find(String url) {
    return Arrays.stream(values()).filter(topic -> topic.url().equals(url)).findFirst();
  }

  /** Its canonical address. */
  public String url() {
    return BASE + code;
  }

  /** The type of the records that its events are about. */
  public String focus() {
    return focus;
  }
}
