package org.tidemark.fhir;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.parser.DataFormatException;
import com.code_intelligence.jazzer.junit.FuzzTest;
import java.nio.charset.StandardCharsets;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.Subscription;

/**
 * Bodies as bytes, from the check of their structure to facts. Whatever is wrong with one is a
 * problem; anything else that is thrown would be an answer of 500.
 */
class ReadersFuzzTest {
  private static final FhirContext CONTEXT = FhirContext.forR4();
  private static final BodyCheck CHECK = new BodyCheck(CONTEXT, 200);
  private static final FlagReader FLAGS = new FlagReader(Reports.MEASURES, Reports.ZONE);

  @FuzzTest(maxDuration = "60s")
  void aBodyIsReadOrRefused(byte[] body) {
    read(body, false);
    read(body, true);
  }

  private static void read(byte[] body, boolean xml) {
    try {
      CHECK.check(body, xml);
      String text = new String(body, StandardCharsets.UTF_8);
      Resource resource =
          (Resource) (xml ? CONTEXT.newXmlParser() : CONTEXT.newJsonParser()).parseResource(text);
      facts(resource);
      if (resource instanceof Bundle bundle) {
        bundle.getEntry().stream()
            .filter(Bundle.BundleEntryComponent::hasResource)
            .forEach(entry -> facts(entry.getResource()));
      }
    } catch (Problem | DataFormatException refused) {
      // As it should be: HAPI's own refusal of a narrative is answered with 400 too.
      return;
    }
  }

  private static void facts(Resource resource) {
    if (resource instanceof Observation observation) {
      Reports.read(observation);
    } else if (resource instanceof Flag flag) {
      FLAGS.read(flag, Reports.SOURCE, Reports.NOW);
    } else if (resource instanceof Subscription subscription) {
      SubscriptionReader.read(subscription);
    }
  }
}
