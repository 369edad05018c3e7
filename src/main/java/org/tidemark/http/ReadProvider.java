package org.tidemark.http;

import ca.uhn.fhir.rest.annotation.History;
import ca.uhn.fhir.rest.annotation.IdParam;
import ca.uhn.fhir.rest.annotation.Operation;
import ca.uhn.fhir.rest.annotation.Read;
import ca.uhn.fhir.rest.annotation.Search;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import ca.uhn.fhir.rest.server.IResourceProvider;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.OptionalLong;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.application.Address;
import org.tidemark.application.Histories;
import org.tidemark.application.Kept;
import org.tidemark.application.Records;
import org.tidemark.application.Retelling;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;

/** Reads, searches and validates records of one type. */
class ReadProvider implements IResourceProvider {
  private final Class<? extends Resource> type;
  private final Records records;
  private final HistoryBundles past;
  private final SearchBundles found;
  private final Validations validations;
  private final Retelling retelling;

  ReadProvider(
      Class<? extends Resource> type,
      Records records,
      Histories histories,
      References references,
      Validations validations,
      Retelling retelling) {
    this.validations = validations;
    this.retelling = retelling;
    this.past = new HistoryBundles(histories, references);
    this.found = new SearchBundles(records, references);
    this.type = type;
    this.records = records;
  }

  @Override
  public final Class<? extends IBaseResource> getResourceType() {
    return type;
  }

  /** The records, for writing. */
  final Records records() {
    return records;
  }

  /** Reads the current version of a record, or the version asked for. */
  @Read(version = true)
  public IBaseResource read(@IdParam IdType id, RequestDetails request) {
    OptionalLong version = version(id.getVersionIdPart());
    Kept kept =
        Optional.of(version)
            .filter(known -> known.isPresent() || !id.hasVersionIdPart())
            .flatMap(known -> records.kept(type.getSimpleName(), id.getIdPart(), known))
            .orElseThrow(() -> absent(id));
    Optional<DomainResource> told = id.hasVersionIdPart() ? Optional.empty() : told(kept, request);
    if (told.isPresent()) {
      return told.get();
    }
    boolean bytes = type.equals(Binary.class) && Wanted.by(request) == Wanted.PDF;
    if (bytes || !SearchAnswers.isPlain(request)) {
      return kept.parsed().get();
    }
    return ReadAnswers.remember(request, type, id, kept);
  }

  /** The record in the language that is asked for, where that is not the one it is stored in. */
  private Optional<DomainResource> told(Kept kept, RequestDetails request) {
    List<Locale> asked = AskedLanguages.of(request.getHeader(AskedLanguages.HEADER));
    return asked.isEmpty() || !Retelling.TOLD.contains(type)
        ? Optional.empty()
        : retelling.in(asked, (DomainResource) kept.parsed().get());
  }

  private Problem absent(IdType id) {
    Problem gone = records.absent(Address.of(type.getSimpleName(), id.getIdPart()));
    boolean current =
        records.kept(type.getSimpleName(), id.getIdPart(), OptionalLong.empty()).isPresent();
    return id.hasVersionIdPart() && current
        ? Problem.of(
            Problem.Kind.NOT_FOUND,
            "There is no %s/%s of this version here."
                .formatted(type.getSimpleName(), id.getIdPart()))
        : gone;
  }

  /** The history of a record. */
  @History
  public Bundle history(@IdParam IdType id, RequestDetails request) {
    return past.read(Optional.of(type.getSimpleName()), Optional.of(id.getIdPart()), request);
  }

  /** The history of all records of the type. */
  @History
  public Bundle history(RequestDetails request) {
    return past.read(Optional.of(type.getSimpleName()), Optional.empty(), request);
  }

  /** Says what is wrong with a resource, or with the record as it stands. */
  @Operation(name = Validations.OPERATION, idempotent = true, manualRequest = true)
  public OperationOutcome validate(@IdParam(optional = true) IdType id, RequestDetails request) {
    return validations.validate(
        type.getSimpleName(), Optional.ofNullable(id).map(IdType::getIdPart), request);
  }

  private static OptionalLong version(String text) {
    return text != null && text.matches("\\d{1,18}")
        ? OptionalLong.of(Long.parseLong(text))
        : OptionalLong.empty();
  }

  /** Searches records; parameters that are not declared are refused. */
  @Search(allowUnknownParams = true)
  public Bundle search(RequestDetails request) {
    return found.read(type.getSimpleName(), request);
  }
}
