package org.tidemark.http;

import ca.uhn.fhir.rest.annotation.Metadata;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import ca.uhn.fhir.rest.server.RestfulServer;
import ca.uhn.fhir.rest.server.provider.ServerCapabilityStatementProvider;
import jakarta.servlet.http.HttpServletRequest;
import java.util.OptionalLong;
import org.hl7.fhir.instance.model.api.IBaseConformance;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.instance.model.api.IIdType;
import org.tidemark.application.Address;
import org.tidemark.application.Records;

/**
 * HAPI's CapabilityStatement, but the OperationDefinitions are our published ones, not those that
 * HAPI would make up from its methods.
 */
final class OwnOperations extends ServerCapabilityStatementProvider {
  private static final String TYPE = "OperationDefinition";

  private final Records records;

  OwnOperations(RestfulServer server, Records records) {
    super(server);
    this.records = records;
  }

  /** Made anew for each request: it tells the address of the clinic that is asked. */
  @Metadata(cacheMillis = 0)
  @Override
  public IBaseConformance getServerConformance(HttpServletRequest request, RequestDetails details) {
    return super.getServerConformance(request, details);
  }

  @Override
  public IBaseResource readOperationDefinition(IIdType id, RequestDetails request) {
    return records
        .read(TYPE, id.getIdPart(), OptionalLong.empty())
        .orElseThrow(() -> records.absent(Address.of(TYPE, id.getIdPart())));
  }
}
