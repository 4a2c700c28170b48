using System.Text;
using Hindbeat.Bench.Desk;
using Hindbeat.Charting;
using Hindbeat.Handouts;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;
using Hindbeat.Units;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;

namespace Hindbeat.Bench.Exports;

/// <summary>What is taken along: single files for the asking, a lesson from a form with the teacher's own words.</summary>
internal static class ExportEndpoints
{
    /// <summary>A lesson's own words; the command line takes as many.</summary>
    private const int MostWords = 200_000;

    public static void Map(IEndpointRouteBuilder app)
    {
        app.MapGet("/export/{study}/{what}", (string study, string what, StudyDesk desk, HttpRequest request) =>
            desk.Find(study) is { } found && StudyExport.All.FirstOrDefault(export => export.Id == what) is { } export
                ? Download(export.FileNameFor(found), export.Type, stream => export.Write(found, DialAddress.Read(request.Query), stream))
                : Results.NotFound());
        app.MapPost("/export/{study}/lesson", async (string study, HttpContext context, IAntiforgery antiforgery, StudyDesk desk) =>
        {
            if (!await antiforgery.IsRequestValidAsync(context))
                return Results.Text("This page is from before the bench was started anew; load it again.", statusCode: StatusCodes.Status403Forbidden);
            return desk.Find(study) is { } found ? Lesson(found, await context.Request.ReadFormAsync(context.RequestAborted)) : Results.NotFound();
        }).DisableAntiforgery(); // Asked for above, so that the answer is a sentence.
    }

    private static IResult Lesson(Study study, IFormCollection form)
    {
        string words = form["words"].ToString();
        if (words.Length > MostWords)
            return Results.BadRequest($"The words of a lesson are at most {MostWords / 1000} kB of text.");
        LessonSections sections = form["sections"].Select(name => Enum.TryParse(name, out LessonSections section) ? section : LessonSections.None).Aggregate(LessonSections.None, (all, one) => all | one);
        var lesson = new Lesson(Shortened(form["title"], study.Name), study.Performance, study.Feel, HouseKit.Load())
        {
            Teacher = Shortened(form["teacher"], ""),
            Credits = Shortened(form["credits"], ""),
            Words = words,
            Sections = sections,
        };
        PageFormat paper = (form["paper"] == "letter" ? PageFormat.Letter : PageFormat.A4) with { Ink = PageInk.Print };
        string name = StudyExport.FileName(lesson.Title);
        return form["as"].ToString() switch
        {
            "html" => Download(name + ".html", "text/html", stream => StudyExport.WriteText(stream, writer => LessonPage.Write(lesson, writer))),
            "pdf" => Download(name + ".pdf", "application/pdf", stream => HandoutPdf.Write(lesson, paper, stream)),
            "zip" => Download(name + ".zip", "application/zip", stream => HandoutPack.Write(lesson, paper, Figures(study), form["may"] == "yes" ? study.Source : null, stream)),
            _ => Results.BadRequest("A lesson is a page, a sheet or a pack."),
        };
    }

    private static string Shortened(string? text, string otherwise)
    {
        const int most = 400;
        string trimmed = text?.Trim() ?? "";
        return trimmed.Length == 0 ? otherwise : trimmed.Length > most ? trimmed[..most] : trimmed;
    }

    private static string Figures(Study study)
    {
        using var buffer = new MemoryStream();
        StudyDocuments.From(study).Write(buffer);
        return Encoding.UTF8.GetString(buffer.ToArray());
    }

    /// <summary>Made whole before the first byte is sent: what goes wrong is said, and never half a file.</summary>
    private static IResult Download(string name, string type, Action<Stream> write)
    {
        try
        {
            using var buffer = new MemoryStream();
            write(buffer);
            return Results.File(buffer.ToArray(), type, name);
        }
        catch (InputException reason)
        {
            return Results.BadRequest(reason.Message);
        }
    }
}
