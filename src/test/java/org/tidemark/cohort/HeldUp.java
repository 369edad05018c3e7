package org.tidemark.cohort;

/** What a day of a course is spent on. */
enum HeldUp {
  EVIDENCE("Enough settled sessions at the setting are waited for"),
  DOSE("Enough settled sessions are waited for after a rise of the dose"),
  EVIDENCE_AFTER_EASING("Enough settled sessions are waited for after something was eased"),
  STIRRED("A stirred session or an unquiet morning holds the plan"),
  MORNING("A morning was not answered"),
  CONTACT("Contact is not reached"),
  ADHERENCE("Less was done of what was asked than a step up needs"),
  SIGN_OFF("A proposal waits for a clinician"),
  EQUIPMENT("The next step cannot be made or is too big with what is at home"),
  REQUIREMENT("The next step asks for something that has not been shown"),
  BACK_OFF("A step that failed before needs more evidence"),
  WITHHELD("Exercise is withheld until a clinician looks"),
  EASED("Something was eased today"),
  OTHER("Anything else");

  private final String words;

  HeldUp(String words) {
    this.words = words;
  }

  String words() {
    return words;
  }
}
