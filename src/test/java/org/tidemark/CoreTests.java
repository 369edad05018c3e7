package org.tidemark;

import org.junit.platform.suite.api.ExcludeClassNamePatterns;
import org.junit.platform.suite.api.IncludeClassNamePatterns;
import org.junit.platform.suite.api.SelectPackages;
import org.junit.platform.suite.api.Suite;

/** The tests of the packages that know no service, which the build runs beside the others. */
@Suite
@SelectPackages("org.tidemark")
@IncludeClassNamePatterns(CoreTests.NAMES)
@ExcludeClassNamePatterns(".*FuzzTest")
class CoreTests {
  /** The names of these tests, as a regular expression. */
  static final String NAMES =
      "org\\.tidemark\\."
          + "(cohort|decision|demand|fhir|programme|quantity|report|response|trend)\\..*Test";

  private CoreTests() {}
}
