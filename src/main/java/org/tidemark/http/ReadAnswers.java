package org.tidemark.http;

import ca.uhn.fhir.interceptor.api.Hook;
import ca.uhn.fhir.interceptor.api.Interceptor;
import ca.uhn.fhir.interceptor.api.Pointcut;
import ca.uhn.fhir.rest.api.RequestTypeEnum;
import ca.uhn.fhir.rest.api.server.IRestfulResponse;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import ca.uhn.fhir.util.DateUtils;
import java.io.IOException;
import java.io.Writer;
import java.util.Date;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.application.Kept;
import org.tidemark.fhir.EntityTags;

/** Sends a record that is read in plain JSON as it is stored, without parsing its text. */
@Interceptor
public final class ReadAnswers {
  private static final String TEXT = ReadAnswers.class.getName() + ".text";

  /**
   * Notes the record to send.
   *
   * @return a resource with its id and version alone, by which HAPI answers what has not changed
   */
  static Resource remember(
      RequestDetails request, Class<? extends Resource> type, IdType id, Kept kept) {
    Resource shell = (Resource) request.getFhirContext().getResourceDefinition(type).newInstance();
    shell.setId(new IdType(shell.fhirType(), id.getIdPart(), Long.toString(kept.version())));
    shell
        .getMeta()
        .setVersionId(Long.toString(kept.version()))
        .setLastUpdated(Date.from(kept.written()));
    request.getUserData().put(TEXT, kept);
    return shell;
  }

  /** Sends the record, or leaves another answer to HAPI by returning true. */
  @Hook(Pointcut.SERVER_OUTGOING_RESPONSE)
  public boolean answer(RequestDetails request, IBaseResource resource) throws IOException {
    if (!(request.getUserData().get(TEXT) instanceof Kept kept)) {
      return true;
    }
    IRestfulResponse response = request.getResponse();
    response.addHeader("ETag", EntityTags.of(Long.toString(kept.version())));
    response.addHeader("Last-Modified", DateUtils.formatDate(Date.from(kept.written())));
    Writer writer = AnswerText.of(request);
    if (request.getRequestType() != RequestTypeEnum.HEAD) {
      writer.write(kept.json());
    }
    response.commitResponse(writer);
    return false;
  }
}
