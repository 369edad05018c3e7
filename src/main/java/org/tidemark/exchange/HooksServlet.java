package org.tidemark.exchange;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.node.ArrayNode;
import com.fasterxml.jackson.databind.node.JsonNodeFactory;
import com.fasterxml.jackson.databind.node.ObjectNode;
import jakarta.inject.Inject;
import jakarta.servlet.annotation.WebServlet;
import jakarta.servlet.http.HttpServlet;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.jboss.logging.MDC;
import org.tidemark.application.CardFeedback;
import org.tidemark.application.Faults;
import org.tidemark.application.Languages;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.Texts;
import org.tidemark.http.AskedLanguages;
import org.tidemark.http.LimitedRequest;
import org.tidemark.http.RequestIds;

/**
 * CDS Hooks 2.0: {@code GET /cds-services} says what there is, {@code POST /cds-services/[id]}
 * answers a hook with cards, {@code POST /cds-services/[id]/feedback} takes what became of them.
 * Everything is answered from what is stored here; the caller's own FHIR server is never asked.
 */
@WebServlet(
    name = "cds-services",
    urlPatterns = {"/cds-services", "/cds-services/*"})
public class HooksServlet extends HttpServlet {
  private static final long serialVersionUID = 1L;
  private static final String FEEDBACK = "feedback";

  @Inject transient PlanReview review;
  @Inject transient OrderConflict conflict;
  @Inject transient CardFeedback feedback;
  @Inject transient Languages languages;

  @ConfigProperty(name = "tidemark.body-limit")
  @Inject
  long bodyLimit;

  /** What a path names: nothing for the list of services. */
  private record Place(Optional<HookService> service, boolean feedback) {
    String method() {
      return service.isEmpty() ? "GET" : "POST";
    }
  }

  @Override
  protected void service(HttpServletRequest request, HttpServletResponse response)
      throws IOException {
    String id = RequestIds.of(request);
    MDC.put("request", id);
    response.setHeader(RequestIds.HEADER, id);
    try {
      answer(request, response);
    } catch (HookProblem refused) {
      ObjectNode body = error(refused.getMessage());
      refused.member().ifPresent(member -> body.put("member", member));
      write(response, refused.status(), body);
    } catch (Problem refused) {
      refuse(response, refused);
    } catch (RuntimeException fault) {
      Optional<Problem> outage = Faults.outage(fault);
      if (outage.isPresent()) {
        refuse(response, outage.get());
      } else {
        write(response, 500, error("The service failed.").put("fault", Faults.log(fault)));
      }
    } finally {
      MDC.remove("request");
    }
  }

  private static void refuse(HttpServletResponse response, Problem refused) throws IOException {
    refused
        .retryAfterSeconds()
        .ifPresent(seconds -> response.setHeader("Retry-After", Integer.toString(seconds)));
    write(response, refused.status(), error(refused.getMessage()));
  }

  private static ObjectNode error(String message) {
    return JsonNodeFactory.instance.objectNode().put("message", message);
  }

  private void answer(HttpServletRequest request, HttpServletResponse response) throws IOException {
    Place place = place(request);
    if (!request.getMethod().equals(place.method())) {
      response.setHeader("Allow", place.method());
      throw HookProblem.of(405, "The method here is " + place.method() + ".");
    }
    Locale language =
        languages.firstOf(AskedLanguages.of(request.getHeader(AskedLanguages.HEADER)));
    response.setHeader("Vary", AskedLanguages.HEADER);
    if (place.service().isEmpty()) {
      write(response, 200, discovery(CardDesk.texts(language)));
      return;
    }
    HookService service = place.service().get();
    Member body = body(request);
    if (place.feedback()) {
      feedback.keep(FeedbackReader.read(body, service.id()));
      response.setStatus(200);
      return;
    }
    ObjectNode answer = JsonNodeFactory.instance.objectNode();
    ArrayNode cards = answer.putArray("cards");
    service
        .cards(HookCall.read(body, service.hook()), language)
        .forEach(card -> cards.add(card.node()));
    write(response, 200, answer);
  }

  private Place place(HttpServletRequest request) {
    String path = request.getPathInfo() == null ? "" : request.getPathInfo();
    if (path.isEmpty() || path.equals("/")) {
      return new Place(Optional.empty(), false);
    }
    String[] parts = path.substring(1).split("/", -1);
    Optional<HookService> service =
        services().stream().filter(known -> known.id().equals(parts[0])).findFirst();
    boolean feedbackAsked = parts.length == 2 && parts[1].equals(FEEDBACK);
    if (service.isEmpty() || (parts.length > 1 && !feedbackAsked)) {
      throw HookProblem.of(404, "There is no such service.");
    }
    return new Place(service, feedbackAsked);
  }

  private List<HookService> services() {
    return List.of(review, conflict);
  }

  private ObjectNode discovery(Texts texts) {
    ObjectNode answer = JsonNodeFactory.instance.objectNode();
    ArrayNode list = answer.putArray("services");
    for (HookService service : services()) {
      ObjectNode described = list.addObject();
      described.put("hook", service.hook());
      described.put("title", texts.of(service.id() + ".title"));
      described.put("description", texts.of(service.id() + ".description"));
      described.put("id", service.id());
      described.putObject("prefetch").put(HookCall.PATIENT, "Patient/{{context.patientId}}");
      described.put("usageRequirements", texts.of(service.id() + ".usage"));
    }
    return answer;
  }

  private Member body(HttpServletRequest request) throws IOException {
    String type = request.getContentType();
    if (type != null
        && !type.toLowerCase(Locale.ROOT).matches("application/([\\w.+-]+\\+)?json\\b.*")) {
      throw HookProblem.of(415, "The body must be application/json.");
    }
    return CardDesk.body(new LimitedRequest(request, bodyLimit).getInputStream().readAllBytes());
  }

  private static void write(HttpServletResponse response, int status, JsonNode body)
      throws IOException {
    response.setStatus(status);
    response.setContentType("application/json;charset=UTF-8");
    response.setHeader("Cache-Control", "no-store");
    response.getOutputStream().write(CardDesk.bytes(body));
  }
}
