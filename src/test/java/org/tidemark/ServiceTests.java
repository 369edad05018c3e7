package org.tidemark;

import org.junit.platform.suite.api.BeforeSuite;
import org.junit.platform.suite.api.ExcludeClassNamePatterns;
import org.junit.platform.suite.api.IncludeClassNamePatterns;
import org.junit.platform.suite.api.SelectPackages;
import org.junit.platform.suite.api.Suite;

/**
 * All tests but {@link CoreTests}, {@link BrowserTests} and those of the packaged service: in one
 * process, as many share a running service.
 */
@Suite
@SelectPackages("org.tidemark")
@IncludeClassNamePatterns(".*Test")
@ExcludeClassNamePatterns({".*FuzzTest", CoreTests.NAMES, BrowserTests.NAMES})
class ServiceTests {
  private ServiceTests() {}

  /** Many tests name the port; those of the packaged service have others. */
  @BeforeSuite
  static void listenWhereTestsLook() {
    System.setProperty("tidemark.test.port", "8081");
  }
}
