package org.tidemark.http;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.api.EncodingEnum;
import ca.uhn.fhir.rest.server.IResourceProvider;
import ca.uhn.fhir.rest.server.RestfulServer;
import jakarta.enterprise.inject.Instance;
import jakarta.inject.Inject;
import jakarta.servlet.ServletException;
import jakarta.servlet.annotation.WebServlet;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletResponse;
import java.io.IOException;
import java.util.ArrayList;
import java.util.List;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Resource;
import org.jboss.logging.MDC;
import org.tidemark.application.AuditReading;
import org.tidemark.application.Histories;
import org.tidemark.application.Limits;
import org.tidemark.application.Links;
import org.tidemark.application.Records;
import org.tidemark.application.Repeats;
import org.tidemark.application.Retelling;
import org.tidemark.application.Types;
import org.tidemark.application.Validating;
import org.tidemark.application.VersionRule;
import org.tidemark.fhir.BodyCheck;
import org.tidemark.fhir.Patches;
import org.tidemark.fhir.References;
import org.tidemark.fhir.SearchParameters;

/** The endpoint {@code /fhir}: FHIR R4 in JSON and XML. */
@WebServlet(name = "fhir", urlPatterns = "/fhir/*", loadOnStartup = 1)
public class FhirServlet extends RestfulServer {
  private static final long serialVersionUID = 1L;

  @Inject transient FhirContext context;
  @Inject transient Records records;
  @Inject transient Histories histories;
  @Inject transient Patches patches;
  @Inject transient References references;
  @Inject transient SearchParameters parameters;
  @Inject transient Limits limits;
  @Inject transient Repeats repeats;
  @Inject transient VersionRule versions;
  @Inject transient Links links;
  @Inject transient BodyCheck bodyCheck;
  @Inject transient Validating validating;
  @Inject transient Instance<Operations> operations;

  @ConfigProperty(name = "tidemark.handover.body-limit")
  @Inject
  long documentLimit;

  @Inject transient Retelling retelling;
  @Inject transient AuditReading audit;
  @Inject transient AccessSettings access;

  @ConfigProperty(name = "quarkus.application.version")
  @Inject
  String version;

  @Override
  protected void initialize() {
    setFhirContext(context);
    setServerName("Tidemark");
    setServerVersion(version);
    setImplementationDescription("Tidemark, care plans that follow the knee");
    // LimitedRequest unpacks, with a limit.
    setUncompressIncomingContents(false);
    setDefaultResponseEncoding(EncodingEnum.JSON);
    setServerAddressStrategy((context, request) -> base());
    Validations validations = new Validations(validating, bodyCheck);
    List<IResourceProvider> providers = new ArrayList<>();
    Types.WRITTEN.forEach(
        type ->
            providers.add(
                new RecordProvider(
                    typeClass(type),
                    records,
                    histories,
                    references,
                    validations,
                    retelling,
                    patches,
                    repeats)));
    Types.served()
        .filter(Types::isOnlyRead)
        .forEach(
            type ->
                providers.add(
                    new ReadProvider(
                        typeClass(type), records, histories, references, validations, retelling)));
    providers.add(new AuditProvider(audit, references));
    setResourceProviders(providers);
    setServerConformanceProvider(new OwnOperations(this, records));
    registerProvider(new BundleProvider(records, histories, references, repeats));
    operations.forEach(this::registerProvider);
    registerInterceptor(new RequestCheck(bodyCheck, this::bodyLimit));
    registerInterceptor(new ProblemAnswers());
    registerInterceptor(new Conformance(parameters, links, access, versions, limits));
    registerInterceptor(new SearchAnswers(references));
    registerInterceptor(new DocumentAnswers());
    registerInterceptor(new ReadAnswers());
    registerInterceptor(new PaperAnswers());
    registerInterceptor(new OpenApiAnswers(this, records, this::base));
  }

  /** The base of the clinic that the request is for, without a slash at the end. */
  private String base() {
    String base = references.base();
    return base.substring(0, base.length() - 1);
  }

  /** A document holds years of reports. */
  private long bodyLimit(HttpServletRequest request) {
    String path = request.getPathInfo();
    return path != null && path.endsWith("/$receive-handover") ? documentLimit : limits.bodyBytes();
  }

  private Class<? extends Resource> typeClass(String type) {
    return context.getResourceDefinition(type).getImplementingClass().asSubclass(Resource.class);
  }

  @Override
  protected String getOrCreateRequestId(HttpServletRequest request) {
    return RequestIds.of(request);
  }

  /** Answers do not say which library made them. */
  @Override
  public void addHeadersToResponse(HttpServletResponse response) {}

  @Override
  protected void service(HttpServletRequest request, HttpServletResponse response)
      throws ServletException, IOException {
    MDC.put("request", RequestIds.of(request));
    try {
      if (R5Facade.isPlace(request.getPathInfo())) {
        new R5Facade(context, references.base()).serve(request, response, super::service);
      } else {
        super.service(new LimitedRequest(request, bodyLimit(request)), response);
      }
    } finally {
      MDC.remove("request");
    }
  }
}
