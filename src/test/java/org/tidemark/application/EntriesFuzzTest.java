package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.parser.DataFormatException;
import com.code_intelligence.jazzer.junit.FuzzTest;
import com.code_intelligence.jazzer.mutation.annotation.NotNull;
import org.hl7.fhir.r4.model.Patient;
import org.tidemark.fhir.BodyCheck;
import org.tidemark.fhir.EntityTags;
import org.tidemark.fhir.Patches;
import org.tidemark.fhir.Problem;

/** What an entry of a Bundle says in texts: its address, its versions and its patch. */
class EntriesFuzzTest {
  private static final FhirContext CONTEXT = FhirContext.forR4();
  private static final Patches PATCHES = new Patches(CONTEXT, new BodyCheck(CONTEXT, 200));

  @FuzzTest(maxDuration = "60s")
  void anEntryIsReadOrRefused(@NotNull String url, @NotNull String tag, @NotNull String patch) {
    refusing(() -> EntryUrl.read(url, "http://localhost:8080/fhir/").address());
    refusing(() -> EntityTags.version(tag));
    refusing(
        () ->
            PATCHES.json(
                new Patient().setActive(true).addName(new org.hl7.fhir.r4.model.HumanName()),
                patch));
  }

  private static void refusing(Runnable reading) {
    try {
      reading.run();
    } catch (Problem | DataFormatException refused) {
      return;
    }
  }
}
