package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import com.code_intelligence.jazzer.junit.FuzzTest;
import com.code_intelligence.jazzer.mutation.annotation.NotNull;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.SearchParameters;

/** Searches as texts, for each type that is served: read, or refused with a problem. */
class SearchFuzzTest {
  private static final References REFERENCES = new References("http://localhost:8080/fhir");
  private static final SearchParameters PARAMETERS =
      new SearchParameters(FhirContext.forR4(), REFERENCES);
  private static final Searching SEARCHING =
      new Searching(
          PARAMETERS, REFERENCES, new Links(PARAMETERS), new Limits(1 << 24, 200, 5_000, 50, 500));
  private static final String[] TYPES = Types.served().toArray(String[]::new);

  @FuzzTest(maxDuration = "60s")
  void aSearchIsReadOrRefused(byte type, @NotNull String query) {
    try {
      Condition condition = Condition.read(query, "If-None-Exist");
      SEARCHING.search(
          TYPES[Math.floorMod(type, TYPES.length)], condition.query(), Handling.LENIENT);
    } catch (Problem refused) {
      return;
    }
  }
}
