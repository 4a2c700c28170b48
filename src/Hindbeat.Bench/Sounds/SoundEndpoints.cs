using System.Globalization;
using Hindbeat.Bench.Desk;
using Hindbeat.Sound;
using Hindbeat.Units;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.HttpResults;
using Microsoft.AspNetCore.Routing;

namespace Hindbeat.Bench.Sounds;

/// <summary>The passage's own sound and its rebuilds, as WAV, each with its loudness so that the page can play all equally loud.</summary>
internal static class SoundEndpoints
{
    /// <summary>Integrated loudness after ITU-R BS.1770, LUFS.</summary>
    private const string LoudnessHeader = "Hindbeat-Loudness";

    /// <summary>How the playhead follows: "second of the sound:second of the recording" a beat, commas between.</summary>
    private const string TimesHeader = "Hindbeat-Times";

    public static void Map(IEndpointRouteBuilder app)
    {
        app.MapGet("/sound/{study}/original", (string study, StudyDesk desk, StudySounds sounds, HttpResponse response) =>
            desk.Find(study) is { } found && sounds.Original(found) is { } sound ? Wav(sound, response) : TypedResults.NotFound());
        app.MapGet("/sound/{study}/slow/{percent:int:range(25,99)}", (string study, int percent, StudyDesk desk, StudySounds sounds, HttpResponse response) =>
            desk.Find(study) is { } found && sounds.Slowed(found, percent / 100.0) is { } sound ? Wav(sound, response) : TypedResults.NotFound());
        app.MapGet("/sound/{study}/rebuild", (string study, StudyDesk desk, StudySounds sounds, HttpRequest request, HttpResponse response) =>
            desk.Find(study) is { } found
                ? Rebuilt(() => sounds.Rebuild(found, DialAddress.Read(request.Query), DialAddress.Moment(request.Query, "from"), DialAddress.Moment(request.Query, "to")), response)
                : TypedResults.NotFound());
        app.MapGet("/sound/{study}/blind/{ticket}/{which:regex(^[ab]$)}", (string study, string ticket, string which, StudyDesk desk, StudySounds sounds, BlindTests tests, HttpResponse response) =>
            desk.Find(study) is { } found && tests.DialsOf(study, ticket, which) is { } dials ? Rebuilt(() => sounds.Rebuild(found, dials), response) : TypedResults.NotFound());
    }

    private static Results<FileContentHttpResult, NotFound, BadRequest<string>> Rebuilt(Func<RebuiltSound> make, HttpResponse response)
    {
        try
        {
            RebuiltSound rebuilt = make();
            response.Headers[TimesHeader] = string.Join(',', rebuilt.Times.Select(pair => string.Create(CultureInfo.InvariantCulture, $"{pair[0]:0.#####}:{pair[1]:0.#####}")));
            return Wav(rebuilt.Sound, response);
        }
        catch (InputException reason)
        {
            return TypedResults.BadRequest(reason.Message);
        }
    }

    private static Results<FileContentHttpResult, NotFound, BadRequest<string>> Wav(StereoSound sound, HttpResponse response)
    {
        using var stream = new MemoryStream(44 + (4 * sound.Left.Length));
        WavFile.Write(stream, sound, bits: 16);
        double loudness = Loudness.IntegratedLufs(sound);
        if (double.IsFinite(loudness))
            response.Headers[LoudnessHeader] = loudness.ToString("0.00", CultureInfo.InvariantCulture);
        response.Headers.CacheControl = "no-store";
        return TypedResults.Bytes(stream.ToArray(), "audio/wav", enableRangeProcessing: true);
    }
}
