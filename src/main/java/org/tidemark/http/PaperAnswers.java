package org.tidemark.http;

import ca.uhn.fhir.interceptor.api.Hook;
import ca.uhn.fhir.interceptor.api.Interceptor;
import ca.uhn.fhir.interceptor.api.Pointcut;
import ca.uhn.fhir.parser.IParser;
import ca.uhn.fhir.rest.api.RequestTypeEnum;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import ca.uhn.fhir.rest.server.RestfulServerUtils;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.Binary;

/** Sends papers as what they are where a client asks for that: PDF or a page. */
@Interceptor
public final class PaperAnswers {
  private static final String RAW = PaperAnswers.class.getName() + ".raw";

  /** Notes that the answer is a page. */
  static Binary page(RequestDetails request, String page) {
    Binary binary = new Binary();
    binary.setContentType(Wanted.PAGE_TYPE + ";charset=UTF-8");
    binary.setData(page.getBytes(StandardCharsets.UTF_8));
    request.getUserData().put(RAW, true);
    return binary;
  }

  /**
   * Sends the bytes where they are asked for by their type. To who accepts anything HAPI would send
   * them too; they get the resource, as of any other type.
   */
  @Hook(Pointcut.SERVER_OUTGOING_RESPONSE)
  public boolean answer(
      RequestDetails request, IBaseResource resource, HttpServletResponse response)
      throws IOException {
    if (!(resource instanceof Binary binary)) {
      return true;
    }
    boolean raw = isRaw(request, binary);
    byte[] sent = raw ? binary.getData() : encoded(request, binary);
    response.setStatus(HttpServletResponse.SC_OK);
    response.setContentType(raw ? binary.getContentType() : type(request));
    response.setHeader("Cache-Control", "no-store");
    response.setHeader("Vary", "Accept, Accept-Language");
    response.setHeader("X-Content-Type-Options", "nosniff");
    response.setHeader("Content-Security-Policy", Pages.OF_A_PAPER);
    response.setContentLength(sent.length);
    if (request.getRequestType() != RequestTypeEnum.HEAD) {
      response.getOutputStream().write(sent);
    }
    response.flushBuffer();
    return false;
  }

  private static byte[] encoded(RequestDetails request, Binary binary) {
    IParser parser =
        RestfulServerUtils.determineResponseEncodingWithDefault(request)
            .getEncoding()
            .newParser(request.getFhirContext());
    return parser.encodeResourceToString(binary).getBytes(StandardCharsets.UTF_8);
  }

  private static String type(RequestDetails request) {
    return RestfulServerUtils.determineResponseEncodingWithDefault(request).getResourceContentType()
        + ";charset=UTF-8";
  }

  private static boolean isRaw(RequestDetails request, Binary binary) {
    boolean pdf =
        Wanted.PDF_TYPE.equals(binary.getContentType()) && Wanted.by(request) == Wanted.PDF;
    return pdf || Boolean.TRUE.equals(request.getUserData().get(RAW));
  }
}
