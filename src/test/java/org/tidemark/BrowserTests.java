package org.tidemark;

import org.junit.platform.suite.api.BeforeSuite;
import org.junit.platform.suite.api.IncludeClassNamePatterns;
import org.junit.platform.suite.api.SelectPackages;
import org.junit.platform.suite.api.Suite;

/** The tests in a browser, which take long: in a process beside {@link ServiceTests}. */
@Suite
@SelectPackages("org.tidemark")
@IncludeClassNamePatterns(BrowserTests.NAMES)
class BrowserTests {
  /** The names of these tests, as a regular expression. */
  static final String NAMES = ".*BrowserTest";

  private BrowserTests() {}

  /** {@link ServiceTests} listens where a service of the tests else does. */
  @BeforeSuite
  static void listenAtThePortOfTheProcess() {
    System.setProperty("quarkus.http.test-port", System.getProperty("tidemark.test.port", "8081"));
  }
}
