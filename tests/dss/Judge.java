import eu.europa.esig.dss.model.FileDocument;
import eu.europa.esig.dss.simplereport.SimpleReport;
import eu.europa.esig.dss.spi.DSSUtils;
import eu.europa.esig.dss.spi.validation.CommonCertificateVerifier;
import eu.europa.esig.dss.spi.x509.CommonTrustedCertificateSource;
import eu.europa.esig.dss.spi.x509.revocation.crl.ExternalResourcesCRLSource;
import eu.europa.esig.dss.validation.SignedDocumentValidator;
import java.io.ByteArrayInputStream;
import java.io.File;
import java.io.InputStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.Instant;
import java.util.ArrayList;
import java.util.Date;
import java.util.List;

/**
 * Argument: a file with a line for each question, parted by tabs: file, moment, trusted roots, lists of revocation
 * (files in DER, parted by colons). For each one line: file, then per signature its indication, or with its
 * sub-indication after a blank.
 */
class Judge {
    public static void main(String[] arguments) throws Exception {
        String policy;
        try (var stream = Judge.class.getResourceAsStream("/policy/constraint.xml")) {
            policy = new String(stream.readAllBytes(), StandardCharsets.UTF_8);
        }
        // nobody is asked over a network: where no revocation data is given there is none
        for (String lack : new String[] {"RevocationDataAvailable", "AcceptableRevocationDataFound"}) {
            policy = policy.replace("<" + lack + " Level=\"FAIL\"", "<" + lack + " Level=\"WARN\"");
        }
        for (String line : Files.readAllLines(Path.of(arguments[0]))) {
            String[] question = line.split("\t", -1);
            System.out.println(question[0] + "\t" + String.join("\t", judged(question, policy)));
        }
    }

    static List<String> judged(String[] question, String policy) {
        List<String> told = new ArrayList<>();
        try {
            var roots = new CommonTrustedCertificateSource();
            for (String root : named(question[2])) {
                roots.addCertificate(DSSUtils.loadCertificate(new File(root)));
            }
            var verifier = new CommonCertificateVerifier(true);
            verifier.setTrustedCertSources(roots);
            if (!question[3].isEmpty()) {
                List<InputStream> lists = new ArrayList<>();
                for (String list : named(question[3])) {
                    lists.add(new ByteArrayInputStream(Files.readAllBytes(Path.of(list))));
                }
                verifier.setCrlSource(new ExternalResourcesCRLSource(lists.toArray(new InputStream[0])));
            }
            SignedDocumentValidator validator = SignedDocumentValidator.fromDocument(new FileDocument(question[0]));
            validator.setCertificateVerifier(verifier);
            validator.setValidationTime(Date.from(Instant.parse(question[1])));
            var stream = new ByteArrayInputStream(policy.getBytes(StandardCharsets.UTF_8));
            SimpleReport report = validator.validateDocument(stream).getSimpleReport();
            for (String id : report.getSignatureIdList()) {
                var under = report.getSubIndication(id);
                told.add(report.getIndication(id) + (under == null ? "" : " " + under));
            }
        } catch (Exception | LinkageError | StackOverflowError fault) {
            told.add("UNREADABLE " + fault.getClass().getSimpleName());
        }
        return told;
    }

    static String[] named(String list) {
        return list.isEmpty() ? new String[0] : list.split(":");
    }
}
