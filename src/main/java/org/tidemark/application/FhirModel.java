package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.PerformanceOptionsEnum;
import ca.uhn.fhir.parser.StrictErrorHandler;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.store.Stored;

/**
 * HAPI's model of R4, made once. Reading the classes of the types that are served is a third of a
 * start, so that it can begin before everything else, beside it.
 */
public final class FhirModel {
  private static FhirContext context;

  private FhirModel() {}

  /** Begins to read the model, without waiting for it. */
  public static void prepare() {
    Thread thread = new Thread(FhirModel::context, "FHIR model");
    thread.setDaemon(true);
    thread.start();
  }

  /** The model, with all types that are served; waits while another thread reads it. */
  static synchronized FhirContext context() {
    if (context == null) {
      FhirContext made = FhirContext.forR4();
      // Types that are only referred to are not read.
      made.setPerformanceOptions(PerformanceOptionsEnum.DEFERRED_MODEL_SCANNING);
      made.setParserErrorHandler(new StrictErrorHandler());
      made.getParserOptions().setStripVersionsFromReferences(false);
      made.getParserOptions().setOverrideResourceIdWithBundleEntryFullUrl(false);
      Types.served().forEach(made::getResourceDefinition);
      context = made;
    }
    return context;
  }

  /** A stored version as a resource, with its id and version. */
  static Resource parsed(FhirContext context, Stored stored) {
    Resource resource = (Resource) context.newJsonParser().parseResource(stored.json());
    resource.setId(stored.type() + "/" + stored.id() + "/_history/" + stored.version());
    return resource;
  }
}
