package org.tidemark.http;

import ca.uhn.fhir.context.FhirContext;
import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonGenerator;
import jakarta.inject.Inject;
import jakarta.servlet.ServletException;
import jakarta.servlet.annotation.WebServlet;
import jakarta.servlet.http.HttpServlet;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.io.OutputStream;
import java.io.OutputStreamWriter;
import java.io.Writer;
import java.nio.charset.StandardCharsets;
import java.util.List;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.zip.GZIPOutputStream;
import org.tidemark.application.Exports;
import org.tidemark.application.Exports.Content;
import org.tidemark.application.Exports.Output;
import org.tidemark.application.Exports.Standing;
import org.tidemark.application.Faults;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;

/**
 * Tells how an export stands, sends its files, and cancels it (FHIR Bulk Data Access 2.0). A file
 * is sent while it is read from the records.
 */
@WebServlet(name = "export", urlPatterns = ExportServlet.PATH + "/*")
public class ExportServlet extends HttpServlet {
  private static final long serialVersionUID = 1L;

  /** Where exports are, below the base of the endpoint. */
  static final String UNDER_BASE = "export";

  static final String PATH = "/fhir/" + UNDER_BASE;

  private static final Pattern PLACE =
      Pattern.compile("/(?<id>[0-9a-f\\-]{36})(?:/(?<number>[1-9][0-9]{0,8})\\.ndjson)?");

  private static final String SECONDS_TO_WAIT = "2";
  private static final JsonFactory JSON = new JsonFactory();

  @Inject transient Exports exports;
  @Inject transient References references;
  @Inject transient AccessSettings access;
  @Inject transient FhirContext context;

  /** An export, or one of its files. */
  private record Place(String id, String number) {
    static Place of(HttpServletRequest request) {
      Matcher place = PLACE.matcher(String.valueOf(request.getPathInfo()));
      if (!place.matches()) {
        throw Problem.of(Problem.Kind.NOT_FOUND, "There is no export at this address.");
      }
      return new Place(place.group("id"), place.group("number"));
    }

    boolean isFile() {
      return number != null;
    }
  }

  @Override
  protected void service(HttpServletRequest request, HttpServletResponse response)
      throws ServletException, IOException {
    response.setHeader(RequestIds.HEADER, RequestIds.of(request));
    response.setHeader("Cache-Control", "no-store");
    try {
      Place place = Place.of(request);
      switch (request.getMethod()) {
        case "GET" -> {
          if (place.isFile()) {
            send(exports.content(place.id(), Integer.parseInt(place.number())), request, response);
          } else {
            tell(place.id(), exports.standing(place.id()), response);
          }
        }
        case "DELETE" -> cancel(place, response);
        default -> throw notOffered(request);
      }
    } catch (Problem refused) {
      throw refused;
    } catch (RuntimeException failed) {
      fail(failed, response);
    }
  }

  private static Problem notOffered(HttpServletRequest request) {
    return Problem.of(
        Problem.Kind.NOT_ALLOWED,
        "The method " + request.getMethod() + " is not offered; an export is read or deleted.");
  }

  private void cancel(Place place, HttpServletResponse response) {
    if (place.isFile()) {
      throw Problem.of(
          Problem.Kind.NOT_ALLOWED, "An export is deleted as a whole, not file by file.");
    }
    exports.cancel(place.id());
    response.setStatus(HttpServletResponse.SC_ACCEPTED);
  }

  /** What has been sent in part ends without its end, so that nobody takes it for the whole. */
  private void fail(RuntimeException failed, HttpServletResponse response) throws IOException {
    String id = Faults.log(failed);
    if (response.isCommitted()) {
      throw new IOException("fault " + id);
    }
    response.reset();
    response.setStatus(HttpServletResponse.SC_INTERNAL_SERVER_ERROR);
    response.setContentType("application/fhir+json;charset=UTF-8");
    response.getWriter().write(context.newJsonParser().encodeResourceToString(Outcomes.fault(id)));
  }

  // ---- how it stands ----

  private void tell(String id, Standing standing, HttpServletResponse response) throws IOException {
    if (standing.files().isEmpty()) {
      response.setStatus(HttpServletResponse.SC_ACCEPTED);
      response.setHeader("X-Progress", standing.percent() + " % divided into files");
      response.setHeader("Retry-After", SECONDS_TO_WAIT);
      return;
    }
    response.setDateHeader("Expires", standing.ends().toEpochMilli());
    response.setContentType("application/json;charset=UTF-8");
    try (JsonGenerator json = JSON.createGenerator(response.getWriter())) {
      json.writeStartObject();
      json.writeStringField("transactionTime", standing.at().toString());
      json.writeStringField("request", standing.request());
      json.writeBooleanField("requiresAccessToken", access.smart());
      String base = references.base() + UNDER_BASE + "/" + id + "/";
      write(json, "output", base, standing.files().get(), false);
      write(json, "deleted", base, standing.files().get(), true);
      json.writeArrayFieldStart("error");
      json.writeEndArray();
      json.writeEndObject();
    }
  }

  private static void write(
      JsonGenerator json, String name, String base, List<Output> files, boolean deleted)
      throws IOException {
    json.writeArrayFieldStart(name);
    for (Output file : files) {
      if (file.deleted() == deleted) {
        json.writeStartObject();
        json.writeStringField("type", deleted ? "Bundle" : file.type());
        json.writeStringField("url", base + file.number() + ".ndjson");
        if (file.count() >= 0) {
          json.writeNumberField("count", file.count());
        }
        json.writeEndObject();
      }
    }
    json.writeEndArray();
  }

  // ---- its files ----

  private static void send(
      Content content, HttpServletRequest request, HttpServletResponse response)
      throws IOException {
    response.setContentType("application/fhir+ndjson");
    boolean zipped = String.valueOf(request.getHeader("Accept-Encoding")).contains("gzip");
    OutputStream plain = response.getOutputStream();
    if (zipped) {
      response.setHeader("Content-Encoding", "gzip");
    }
    response.setHeader("Vary", "Accept-Encoding");
    // Closed only where all went well.
    Writer lines =
        new OutputStreamWriter(
            zipped ? new GZIPOutputStream(plain) : plain, StandardCharsets.UTF_8);
    content.send(json -> lines.append(json).append('\n'));
    lines.close();
  }
}
