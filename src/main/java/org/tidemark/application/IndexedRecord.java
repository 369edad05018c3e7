package org.tidemark.application;

import java.util.LinkedHashSet;
import java.util.Set;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.SearchParameters;
import org.tidemark.fhir.SearchedQuantity;
import org.tidemark.fhir.TimeSpan;
import org.tidemark.store.SearchValues;

/** Collects what a resource can be found by, in the store's terms. */
final class IndexedRecord implements SearchParameters.Sink {
  private final Resource resource;
  private final Set<SearchValues.Token> tokens = new LinkedHashSet<>();
  private final Set<SearchValues.Uri> uris = new LinkedHashSet<>();
  private final Set<SearchValues.Span> spans = new LinkedHashSet<>();
  private final Set<SearchValues.Measure> measures = new LinkedHashSet<>();
  private String subject;

  private IndexedRecord(Resource resource) {
    this.resource = resource;
  }

  static IndexedRecord of(Resource resource, SearchParameters parameters) {
    IndexedRecord indexed = new IndexedRecord(resource);
    if (resource.fhirType().equals("Patient")) {
      indexed.subject = "Patient/" + resource.getIdElement().getIdPart();
    }
    parameters.extract(resource, indexed);
    if (resource instanceof Binary binary && binary.hasSecurityContext()) {
      indexed.subject = binary.getSecurityContext().getReference();
    }
    return indexed;
  }

  /** Whether the type is about one subject, kept in the record's own row and not in the index. */
  private static boolean hasOneSubject(String type) {
    return !type.equals("Provenance");
  }

  /** Whether a parameter of a type is found by the record's own row. */
  static boolean isSubject(String type, String parameter) {
    return hasOneSubject(type) && (parameter.equals("patient") || parameter.equals("subject"));
  }

  @Override
  public void token(String parameter, String system, String code) {
    tokens.add(new SearchValues.Token(parameter, fit(parameter, system), fit(parameter, code)));
  }

  @Override
  public void uri(String parameter, String target) {
    fit(parameter, target);
    boolean isSubject = parameter.equals("patient") || parameter.equals("subject");
    if (isSubject && subject == null) {
      subject = target;
    }
    if (!isSubject(resource.fhirType(), parameter)) {
      uris.add(new SearchValues.Uri(parameter, target));
    }
  }

  @Override
  public void span(String parameter, TimeSpan span) {
    spans.add(new SearchValues.Span(parameter, span.lowMs(), span.highMs()));
  }

  @Override
  public void quantity(String parameter, SearchedQuantity quantity) {
    measures.add(
        new SearchValues.Measure(
            parameter,
            fit(parameter, quantity.unit()),
            quantity.amount(),
            fit(parameter, quantity.sentUnit()),
            quantity.sentAmount()));
  }

  /** The person it is about, or null. */
  String subject() {
    return subject;
  }

  SearchValues values(SearchParameters parameters, long updatedMs) {
    long happened =
        parameters.happened(resource.fhirType()).stream()
            .flatMap(name -> spans.stream().filter(span -> span.parameter().equals(name)))
            .mapToLong(SearchValues.Span::lowMs)
            .findFirst()
            .orElse(updatedMs);
    return new SearchValues(tokens, uris, spans, measures, happened);
  }

  private String fit(String parameter, String value) {
    if (value.length() > SearchValues.LONGEST) {
      throw Problem.of(
          Problem.Kind.OUT_OF_RANGE,
          "A system, code, identifier or reference may have %d characters; one found by '%s' is longer."
              .formatted(SearchValues.LONGEST, parameter),
          resource.fhirType());
    }
    return value;
  }
}
