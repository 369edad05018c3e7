package org.tidemark.demo;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.annotation.OptionalParam;
import ca.uhn.fhir.rest.annotation.Search;
import ca.uhn.fhir.rest.annotation.Sort;
import ca.uhn.fhir.rest.api.MethodOutcome;
import ca.uhn.fhir.rest.api.SortSpec;
import ca.uhn.fhir.rest.api.server.IBundleProvider;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import ca.uhn.fhir.rest.param.DateParam;
import ca.uhn.fhir.rest.param.DateRangeParam;
import ca.uhn.fhir.rest.param.ReferenceParam;
import ca.uhn.fhir.rest.param.TokenParam;
import ca.uhn.fhir.rest.param.UriParam;
import ca.uhn.fhir.rest.server.SimpleBundleProvider;
import ca.uhn.fhir.rest.server.exceptions.PreconditionFailedException;
import ca.uhn.fhir.rest.server.provider.HashMapResourceProvider;
import java.util.Comparator;
import java.util.Date;
import java.util.List;
import org.hl7.fhir.r4.model.Base;
import org.hl7.fhir.r4.model.BaseDateTimeType;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Property;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;

/** The records of one type of {@link PlainRecordSystem}, in HAPI's own store in memory. */
final class PlainRecords<T extends Resource> extends HashMapResourceProvider<T> {
  PlainRecords(FhirContext context, Class<T> type) {
    super(context, type);
  }

  /** Those with an identifier, with an address and version, or of a time, or all; oldest first. */
  @Search
  public IBundleProvider find(
      @OptionalParam(name = "identifier") TokenParam identifier,
      @OptionalParam(name = "url") UriParam url,
      @OptionalParam(name = "version") TokenParam version,
      @OptionalParam(name = "target") ReferenceParam target,
      @OptionalParam(name = "recorded") DateParam recorded,
      @OptionalParam(name = "_lastUpdated") DateRangeParam updated,
      @Sort SortSpec order) {
    return new SimpleBundleProvider(
        getStoredResources().stream()
            .filter(record -> identifier == null || isCalled(record, identifier))
            .filter(record -> url == null || says(record, "url", url.getValue()))
            .filter(record -> version == null || says(record, "version", version.getValue()))
            .filter(record -> target == null || isAbout(record, target))
            .filter(record -> recorded == null || isRecorded(record, recorded.getValue()))
            .filter(record -> updated == null || isWithin(record, updated))
            .sorted(
                Comparator.comparing(
                    record -> record.getMeta().getLastUpdated(),
                    Comparator.nullsFirst(Comparator.naturalOrder())))
            .toList());
  }

  private static boolean isAbout(Resource record, ReferenceParam target) {
    return values(record, "target").stream()
        .map(Reference.class::cast)
        .anyMatch(reference -> target.getValue().equals(reference.getReference()));
  }

  private static boolean isRecorded(Resource record, Date when) {
    return values(record, "recorded").stream()
        .anyMatch(value -> ((BaseDateTimeType) value).getValue().equals(when));
  }

  private static boolean isWithin(Resource record, DateRangeParam updated) {
    Date when = record.getMeta().getLastUpdated();
    Date from = updated.getLowerBoundAsInstant();
    return from == null || (when != null && !when.before(from));
  }

  private static boolean isCalled(Resource record, TokenParam wanted) {
    return values(record, "identifier").stream()
        .map(Identifier.class::cast)
        .anyMatch(
            known ->
                wanted.getValue().equals(known.getValue())
                    && (wanted.getSystem() == null
                        || wanted.getSystem().equals(known.getSystem())));
  }

  private static boolean says(Resource record, String element, String value) {
    return values(record, element).stream().anyMatch(known -> value.equals(known.primitiveValue()));
  }

  private static List<Base> values(Resource record, String element) {
    Property property = record.getNamedProperty(element);
    return property == null ? List.of() : property.getValues();
  }

  /** HAPI puts the version of an If-Match into the id. */
  @Override
  public synchronized MethodOutcome update(T record, String condition, RequestDetails request) {
    String wanted = record.getIdElement().getVersionIdPart();
    var versions = myIdToVersionToResourceMap.get(record.getIdElement().getIdPart());
    if (request.getHeader("If-Match") != null
        && (versions == null || !versions.lastKey().toString().equals(wanted))) {
      throw new PreconditionFailedException("Version " + wanted + " is not the current one.");
    }
    return super.update(record, condition, request);
  }
}
